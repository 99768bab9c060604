// Package folder reads and writes the import folder: a handful of CSV files
// that hold all a shop knows of its customers and their machines, and what
// was told and answered.
//
// A file has a header row and is UTF-8 text. Dates are YYYY-MM-DD, times are
// RFC 3339 in UTC, numbers have a decimal point, an empty cell is "not known".
// Texts of several lines keep them, inside quotes. Columns may stand in any
// order, some may be missing, none may be unknown. Only machines.csv is
// required. Files of other names are listed in the report and left alone.
//
// Reading takes every good row and tells every fault of every file in one go,
// with its line, column, field, value and remedy; whether good rows are kept
// beside faults is for the caller to say. Writing is canonical: every column
// in a fixed order, rows sorted by their cells, lines ended by a line feed,
// quotes only where CSV needs them. The same facts give the same bytes, and
// what was written reads back to the same facts.
//
// A file is declared by one table, in files.go or beside it: its columns, each with the way
// its cells are written and the place of its value, and at most one function
// for what a cell alone cannot show. The package knows nothing of a database.
package folder
