// Package interval turns rules and services into forecasts: which rule holds
// for a machine and item, what the interval counts from, which of its limits
// comes first, what is left of it, and at which stage it stands on a day.
//
//	rules ----Book.For----> the rules of one machine
//	services, meters, use --Forecasts--> dates, driver, reason, what is left
//	a forecast and a day ---StageOn----> stage, and NextLook: when it changes
//
// The dates of a forecast are a function of the machine's facts, its rules and
// the usage model; they do not move with the day on which they are asked.
// What does depend on that day (the stage, what is left, what a reading would
// be worth) is worked out for Input.Today and no other.
//
// The package is pure: values and a day in, values out.
package interval
