// Package scheduler holds rounds: it reads the facts of machines that may
// have changed, works out what falls due through the pure packages below it,
// decides who is told, and stores all of that in one piece.
//
//	facts --look--> forecasts, stages --tell--> notices in the outbox
//
// The arithmetic lives in the packages usage, interval and calendar, the
// manners in notify/policy; this package composes them and declares the small
// interfaces that it needs of a store. It asks the time of no clock: a round
// is held at a time that is given to it. Service, which keeps the shop's
// appointed times, is handed a clock.
package scheduler
