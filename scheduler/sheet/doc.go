// Package sheet puts the whole story of one machine on one page before a job:
// what was done last, what to do while it is apart, what to buy, what may be
// a comeback, what is still to be checked, and how to stay unhurt.
//
//	facts, forecasts, jobs --Build--> Sheet (typed data) --Text--> 80 columns, one page
//
// The pages and the command show the same Sheet. Figures of what a drain lets
// out, and savings, are common practice to plan with: the maker's manual and a
// qualified technician come before them.
package sheet
