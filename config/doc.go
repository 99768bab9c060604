// Package config reads what a shop writes by hand: the settings of the
// program and the file of service rules, both in TOML, and holds the rules
// that come with the program.
//
// A file is read strictly and whole: an unknown key, a value of the wrong
// type and a figure out of range are faults, and all faults of a file are
// told in one go, each with its line, column, key, value and remedy. Nothing
// is replaced by a default in silence.
//
// A setting comes from, the later winning: its default, the settings file,
// the environment. Where each came from is kept and can be listed; secrets
// print as "(hidden)" wherever they are printed.
package config
