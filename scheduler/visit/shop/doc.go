// Package shop turns what a shop knows (forecasts, rules, its calendar, its
// bays and people, what was agreed) into a planning problem, and the plan that
// comes back into visits that can be explained to people.
//
// # From a forecast to an item of the problem
//
// Day numbers count from the first day of the plan, money is whole cents.
//
//	interval  days from the last service to due_on, at least 14; without a
//	          last service the rule's months (30.4 days each), else 365
//	earliest  due_on minus 0.4 of the interval, and not before the plan begins
//	due       due_on; for what is overdue by more than a fortnight, a fortnight
//	          before the plan begins: days late that have passed cost the same
//	          whatever is planned, and after a fortnight each further day costs
//	          the same
//	latest    only for a hard bar: the day before the rule's day of the year,
//	          where that is what makes it due; a bar that has passed is none
//	lead      today plus the rule's parts_days
//	work      the rule's work_min, 30 where it has none; access_min of a rule
//	          without a teardown is part of it
//	access    the rule's teardown, with the minutes recorded for the kind, else
//	          the largest access_min among the machine's rules that name it
//
// # Value, late and skip
//
// One service of the item costs
//
//	price = labor * work / 60 + parts (where the rule has parts_days)
//
// and what a day late risks is
//
//	risk = late_cents * weight
//
// with weight 2 for parts of the cooling system, for their end is a breakdown
// far from the shop, 1/2 for an inspection, else
// 1, and half as much again under severe duty. The weights are common
// practice, no source.
//
// The date is not certain. With the range taken as normal, its standard
// deviation is s = (late_on - early_on) / 2.563 days (the 10th and 90th
// percentiles of a normal distribution lie 2.563 deviations apart), and
//
//	sure = mean of Phi(x / s) for x = 1..14 days (1 where s is 0)
//
// is how likely it is, in the fortnight around due_on, that the true date lies
// on the near side. On a day after due_on the machine is late with about that
// probability; on a day before, with one minus it. Expected costs a day are
// therefore
//
//	late  = risk * sure
//	value = price * sure - risk * interval * (1 - sure), at least 0
//
// so that a wide range makes a day late cheaper, and makes going early cheap or
// free: what wear it gives away it saves in the risk of being late already.
//
//	skip  = the larger of 150 * late and late * R(days from due to the end of
//	        the plan) + transport + one day's downtime, for what falls due
//	        within the plan, where R is the growing lateness of the problem: an
//	        item is left out for want of room and never for being late already
//	skip  = labor * access / 60 + (transport + one day's downtime) / 4 for what
//	        falls due after it, or whose date is too unsure to call a machine
//	        in: a guess at what doing it later costs, mostly together with
//	        something else; such items only join a visit
//
// A visit costs its site's transport, and the shop's figure for a machine's
// day out for each calendar day. A visit that people were shown costs
// move_cents to move, four times that where it was agreed and something
// recorded since forbids its day; an agreed visit otherwise stays.
//
// # Left out
//
// Skills of technicians, hours within the day, bays with hours of their own,
// rounds of a truck, how unsure the minutes of work are, and that the next
// service moves with this one. The duties of days before the plan begins are
// those of visits that still go on.
//
// The package is pure: no clock, no goroutine, no chance.
package shop
