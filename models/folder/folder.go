package folder

import (
	"bufio"
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"slices"
	"strings"

	"example.org/roundsman/models"
)

// Bounds of a folder.
const (
	// MaxFile is the largest file that is read, in bytes.
	MaxFile = 1 << 30
	// MaxFaults is how many faults are told one by one; one more line then
	// gives the number of the rest.
	MaxFaults = 10_000
	// maxWarnings bounds the warnings in the same way.
	maxWarnings = 1_000
)

// Stored is what is on record of those who and what a folder names. They need
// not be in the folder, and a file without a column leaves alone what stands in
// it. The zero value knows nothing.
type Stored struct {
	Owners    map[string]models.Owner           // by id
	Machines  map[string]models.Machine         // by id
	Standings map[string]models.MachineStanding // that hold, by machine
	Contacts  map[string]models.Contact         // by id
	Rules     map[models.RuleKey]models.Rule    // those that hold
}

// Options say what is known besides the folder. All of it may be missing.
type Options struct {
	// Now is the last date that may stand in a file; none: any date may.
	Now models.Date
	// Country is the one whose telephone numbers may stand without a country
	// code (ISO 3166-1 alpha-2); "": none.
	Country string
	// Stored is what is on record. Where there are rules, services of items
	// and machines of kinds that no rule names are warned of.
	Stored Stored
	// Known says whether a job, check, message or reply, by the name of its
	// file, is on record under a number or key; nil: none is.
	Known func(file, name string) bool
	// NearZero takes readings less than one mile, kilometer or hour below zero
	// as 0, with a warning, instead of refusing them as negative. Such come
	// from looks at a meter that is new.
	NearZero bool
	// Progress is told every now and then how many bytes of a file are read.
	Progress func(file string, done, total int64)
}

// Report is what reading a folder has to tell.
type Report struct {
	Faults   models.Faults  // rows and files that cannot be taken, in the order of files and lines
	Warnings models.Faults  // what was taken and is probably not meant
	Slips    int            // of the warnings, those of words that are probably misspelt
	Unknown  []string       // other files and folders, left alone; a folder's name ends with a slash
	Counts   map[string]int // rows taken, by file, for each file that is there
	Repeats  map[string]int // rows left out because they say what another row says, by file
	// Lines gives by file the line on which each row taken begins, in the order
	// of the rows; 1 is the header, 0 a reading made of a guess in another file.
	Lines map[string][]int
}

// Read reads every known file of a folder. It never stops at a fault: the set
// holds the good rows in the order of the files, no two of them equal, and the
// report all that is wrong. Without an owners.csv the owners are those whom
// machines.csv names and Options.Stored does not know, each named by its
// id. The error is for a folder that cannot be listed and for a context that
// has ended.
func Read(ctx context.Context, fsys fs.FS, opt Options) (models.FactSet, Report, error) {
	entries, err := fs.ReadDir(fsys, ".")
	if err != nil {
		return models.FactSet{}, Report{}, &models.Error{
			Code: models.CodeInvalid, Message: "the folder cannot be read",
			Remedy: "name a folder that holds machines.csv and may be read", Err: err,
		}
	}
	in := newPass(ctx, opt)
	in.fsys = fsys
	there := map[string]fs.DirEntry{}
	for _, e := range entries {
		there[e.Name()] = e
	}
	for _, t := range tables() {
		entry := there[t.fileName()]
		delete(there, t.fileName())
		in.readFile(fsys, t, entry)
		if err := ctx.Err(); err != nil {
			return models.FactSet{}, Report{}, fmt.Errorf("reading the folder: %w", err)
		}
	}
	in.others(there)
	in.refuseTwins()
	in.askShared()
	return in.set, in.finish(), nil
}

// pass is one reading of a folder.
type pass struct {
	ctx    context.Context
	opt    Options
	fsys   fs.FS           // nil: rows come from a desk
	file   string          // at hand
	own    map[string]bool // files asked about: an export wrote them
	set    models.FactSet
	report Report
	buffer *bufio.Reader   // of one file after the other
	zones  map[string]bool // time zones asked for so far

	faults    int // all, also those over MaxFaults
	warnings  int
	hasOwners bool            // there is an owners.csv
	broken    map[string]bool // files not all of whose rows could be looked at
	owners    map[string]bool
	machines  map[string]machineRow
	items     map[string]bool    // items with a rule, here or recorded
	ownItems  []string           // the same
	kinds     map[string]bool    // kinds with a machine here or with a rule, by KindID
	lostItems map[string]bool    // items already warned of
	swaps     map[swapDay]int    // the line that told of it
	plainIDs  map[string]plainID // ids as people see them
	tags      map[string]bool    // of the machines on record; nil: not asked for yet
	named     map[rowName]bool   // jobs, checks, messages and replies that are here
}

// rowName is the number or key by which rows of other files name one of a file.
type rowName struct{ file, name string }

// machineRow is what other files need of a row of machines.csv.
type machineRow struct {
	kind   string
	meters models.Meters // "" is not known
}

type plainID struct {
	id   string
	line int
}

type swapDay struct {
	machine string
	at      models.Date
	meter   models.Meter
}

func newPass(ctx context.Context, opt Options) *pass {
	in := &pass{
		ctx: ctx, opt: opt, own: map[string]bool{}, buffer: bufio.NewReaderSize(nil, maxLine),
		report: Report{Counts: map[string]int{}, Repeats: map[string]int{}, Lines: map[string][]int{}},
		zones:  map[string]bool{}, broken: map[string]bool{}, owners: map[string]bool{},
		machines: map[string]machineRow{},
		items:    map[string]bool{}, kinds: map[string]bool{}, lostItems: map[string]bool{}, swaps: map[swapDay]int{}, plainIDs: map[string]plainID{},
		named: map[rowName]bool{},
	}
	for _, r := range opt.Stored.Rules {
		in.ruleFor(r)
	}
	slices.Sort(in.ownItems)
	return in
}

// ruleFor notes that there is a rule.
func (in *pass) ruleFor(r models.Rule) {
	in.kinds[models.KindID(r.Kind)] = true
	if !in.items[r.Item] {
		in.items[r.Item] = true
		in.ownItems = append(in.ownItems, r.Item)
	}
}

// fault notes a fault.
func (in *pass) fault(f models.Fault) {
	in.faults++
	if in.faults <= MaxFaults {
		in.report.Faults = append(in.report.Faults, f)
	}
}

// warn notes a warning.
func (in *pass) warn(f models.Fault) {
	in.warnings++
	if in.warnings <= maxWarnings {
		in.report.Warnings = append(in.report.Warnings, f)
	}
}

// finish closes the report.
func (in *pass) finish() Report {
	if more := in.faults - MaxFaults; more > 0 {
		in.report.Faults = append(in.report.Faults, models.Fault{
			File: "the folder", Problem: fmt.Sprintf("has %d more faults than are listed here", more),
			Remedy: "mend these first and import again",
		})
	}
	if more := in.warnings - maxWarnings; more > 0 {
		in.report.Warnings = append(in.report.Warnings, models.Fault{
			File: "the folder", Problem: fmt.Sprintf("has %d more warnings than are listed here", more),
		})
	}
	return in.report
}

// readFile reads one file, which may be missing.
func (in *pass) readFile(fsys fs.FS, t table, entry fs.DirEntry) {
	name := t.fileName()
	if entry == nil {
		t.absent(in)
		return
	}
	in.report.Counts[name] = 0
	give := func(what, remedy string) {
		in.broken[name] = true
		in.fault(models.Fault{File: name, Problem: what, Remedy: remedy})
	}
	info, err := fs.Stat(fsys, name) // past a symbolic link
	switch {
	case err != nil:
		give("cannot be read: "+plainError(err), "see that the file can be opened and try again")
		return
	case !info.Mode().IsRegular():
		give("is not a plain file", "put a CSV file in its place")
		return
	case info.Size() > MaxFile:
		give("is larger than 1 GiB", "leave out what is not needed")
		return
	}
	file, err := fsys.Open(name)
	if err != nil {
		give("cannot be read: "+plainError(err), "see that the file can be opened and try again")
		return
	}
	in.buffer.Reset(io.LimitReader(file, MaxFile))
	src := newLines(in.buffer)
	t.read(in, src, info.Size())
	if err := file.Close(); err != nil {
		give("cannot be read: "+plainError(err), "see that the disk is well and try again")
	}
}

// others reports the files that are not read, and warns of a name that is
// nearly one that is.
func (in *pass) others(there map[string]fs.DirEntry) {
	for name, entry := range there {
		if name == sumsFile || isDraft(name) {
			continue
		}
		if entry.IsDir() {
			name += "/"
		}
		in.report.Unknown = append(in.report.Unknown, name)
	}
	slices.Sort(in.report.Unknown)
	for _, name := range in.report.Unknown {
		for _, t := range tables() {
			if strings.EqualFold(name, t.fileName()) {
				in.warn(models.Fault{File: name, Problem: "is not read", Remedy: "rename it to " + t.fileName()})
			}
		}
	}
}

// plainError gives an error without the path in front of it, which the fault
// names already.
func plainError(err error) string {
	var pe *fs.PathError
	if errors.As(err, &pe) {
		return pe.Err.Error()
	}
	return err.Error()
}

// sortFaults puts the faults of one file in the order of its lines.
func sortFaults(fs models.Faults) {
	slices.SortStableFunc(fs, func(a, b models.Fault) int {
		return cmp.Or(cmp.Compare(a.Line, b.Line), cmp.Compare(a.Column, b.Column))
	})
}
