// Package usage works out, from a few irregular and sometimes wrong meter
// readings, on which date a meter reaches a value, and how sure that is.
//
// The way of a forecast:
//
//	facts --Screen--> Screened --Fit(profile)--> Model --First(limits)--> Crossing
//	                      |
//	                      +--Fitter.Add--> Profile (what the whole fleet teaches)
//
// Screen puts every reading of a machine on a cumulative scale that runs on
// through swaps and rollovers (the true scale, in miles and hours) and leaves
// out what is doubtful, each with a named reason. A Profile holds what a fleet
// teaches: how much machines of a kind and owner type are used, in which
// season, how unevenly, and how steady that is. Fit learns one machine from
// its points and the profile. A Model answers with date ranges.
//
// Everything here is a function of facts and profile: the same input gives the
// same answer whatever its order, and no clock or chance is asked. The day on
// which a question is asked is no part of it, but where a caller wishes to
// weigh in that something was not reported done by a day.
package usage
