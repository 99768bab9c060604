// Package models holds the words of the trade as Go types: owners, contacts,
// machines, meters, readings, rules, services, forecasts, notices and
// messages, with the small invariants that belong to one value alone.
//
// The package imports the standard library only and does nothing by itself:
// no database, network, file, clock or chance. The gorm tags are plain
// strings; a value type that a column holds knows how to be stored through
// database/sql/driver.
//
// Facts (what a person or a meter said) are written once: each carries the
// number of the entry that brought it and, where it corrects an earlier fact,
// the row it replaces. Everything else is derived and can be thrown away.
package models
