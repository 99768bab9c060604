// Package job holds the rules of jobs and follow-up checks: what may happen
// when, which checks follow which work, when an owner is asked whether a
// repair held, which earlier complaint a new one looks like, and how often
// repairs come back.
//
//	open --work done--> done --checks before hand-over--> handed over --"it's back"--> reopened
//
// Each act is a function from a job as it stands to the change that the store
// writes whole or not at all; a refusal is a models.Error that says what to do.
// Questions and intervals that come with the program are common practice: the
// maker's manual and a qualified technician come before them.
package job
