package folder

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
)

// texts gives the faults as texts.
func texts(fs models.Faults) []string {
	out := make([]string, len(fs))
	for i, f := range fs {
		out[i] = f.String()
	}
	return out
}

func TestReadTakesEveryForm(t *testing.T) {
	plain := "machine,at,miles,hours,source,sure\nM3,2026-05-01,10.5,2,owner,yes\nM3,2026-05-02,11,,,\n"
	want := []models.Reading{
		{Machine: "M3", At: models.MustDate("2026-05-01"), Miles: models.Num(10.5), Hours: models.Num(2), Source: "owner", Standing: models.StandingConfirmed},
		{Machine: "M3", At: models.MustDate("2026-05-02"), Miles: models.Num(11)},
	}
	for name, data := range map[string]string{
		"plain":                plain,
		"byte order mark":      "\ufeff" + plain,
		"CRLF":                 strings.ReplaceAll(plain, "\n", "\r\n"),
		"no last line end":     strings.TrimSuffix(plain, "\n"),
		"blank lines":          "\n\n" + strings.ReplaceAll(plain, "\n", "\n,,,,,\n\n"),
		"blanks about cells":   strings.ReplaceAll(plain, ",", " ,\t"),
		"quotes":               strings.ReplaceAll(plain, "M3,2026-05-01,10.5", `"M3", "2026-05-01","10.5"`),
		"other order":          "sure,source,hours,miles,at,machine\nyes,owner,2,10.5,2026-05-01,M3\n,,,11,2026-05-02,M3\n",
		"header in upper case": "MACHINE,At,Miles,Hours,Source,Sure\n" + strings.SplitN(plain, "\n", 2)[1],
		"the same rows again":  plain + strings.SplitN(plain, "\n", 2)[1],
		"columns of no name":   strings.ReplaceAll(plain, "\n", ",,\n"),
		"numbers written long": strings.NewReplacer("10.5", "0010.500", ",11,", ",11.0,").Replace(plain),
	} {
		t.Run(name, func(t *testing.T) {
			f, report := readAll(t, onDisk(map[string]string{"readings.csv": data}), Options{})
			assert.Empty(t, texts(report.Faults))
			assert.Equal(t, want, f.Readings)
			assert.Equal(t, 2, report.Counts["readings.csv"])
		})
	}
}

// TestAGuessElsewhereMovesNoLines: the reading that is made of it stands on no
// line of readings.csv, and the rows there keep theirs.
func TestAGuessElsewhereMovesNoLines(t *testing.T) {
	f, report := readAll(t, onDisk(map[string]string{
		"machines.csv": "machine,tag,kind,owner,meters,in_service,miles_start,hours_start,miles_max\nM1,,utv,O1,miles,2024-04-01,about 1500,,\n",
		"readings.csv": "machine,at,miles,hours,source,sure\nM1,2026-05-01,1900,,owner,yes\nM1,2026-05-01,1900,,owner,no\n",
	}), Options{})
	assert.Equal(t, []string{`readings.csv:3:27: sure "no" is against line 2, which has the same reading; say yes or no of a reading, not both`}, texts(report.Faults))
	require.Len(t, f.Readings, 2)
	assert.Equal(t, []int{0, 2}, report.Lines["readings.csv"])
}

func TestReadSaysWhereARowStands(t *testing.T) {
	f, report := readAll(t, onDisk(map[string]string{
		"swaps.csv": "machine,at,meter,old_value,new_value\n\n\"M1\",2026-05-01,miles,10,0\nM1,2026-06-01,miles,5,0\n",
	}), Options{})
	require.Len(t, f.Swaps, 2)
	assert.Equal(t, []int{3, 4}, report.Lines["swaps.csv"])
}

func TestColumnsCountCharacters(t *testing.T) {
	_, report := readAll(t, onDisk(map[string]string{
		"readings.csv": "machine,at,source,miles,hours\nM1,2026-05-01,Señor Núñez,x,\n\"M1\",2026-05-01,\"Núñez\",x,\n",
	}), Options{})
	assert.Equal(t, []string{
		`readings.csv:2:27: miles "x" is not a number; ` + guessHint,
		`readings.csv:3:25: miles "x" is not a number; ` + guessHint,
	}, texts(report.Faults))
}

func TestOwnersAreMadeOfMachines(t *testing.T) {
	f, report := readAll(t, onDisk(nil), Options{Stored: Stored{Owners: map[string]models.Owner{"O2": {ID: "O2"}}}})
	assert.Empty(t, report.Faults)
	assert.Equal(t, []models.Owner{{ID: "O1", Name: "O1"}}, f.Owners)
}

func TestWhatIsKnownAlreadyNeedNotBeInTheFolder(t *testing.T) {
	files := onDisk(map[string]string{
		"owners.csv":   "owner,name,type\nO1,Elk Bench Ranch,ranch\nO3,,\n",
		"contacts.csv": "owner,name,role,mail,mobile,prefers,sms_consent_on,mail_consent_on\nO2,Ana,owner,ana@example.com,,,,\n",
		"readings.csv": "machine,at,miles,hours,source\nM9,2026-05-01,,5,owner\nM9,2026-05-01,5,,owner\nM8,2026-05-01,5,,owner\n",
	})
	f, report := readAll(t, files, Options{
		Stored: Stored{Owners: map[string]models.Owner{"O2": {ID: "O2"}}, Machines: map[string]models.Machine{"M9": {ID: "M9", Meters: models.MetersHours}}},
	})
	assert.Equal(t, []string{
		`readings.csv:3:15: miles "5" is for a meter that machine M9 does not have (it has an hour meter); empty the cell, or correct meters in machines.csv`,
		`readings.csv:4:1: machine "M8" is not in machines.csv; add the machine there or correct the id`,
	}, texts(report.Faults))
	assert.Len(t, f.Contacts, 1)
	assert.Len(t, f.Readings, 1)
	assert.Equal(t, "O3", f.Owners[1].Name, "an owner without a name is named by the id")
}

func TestDatesAreFreeWithoutANow(t *testing.T) {
	f, report, err := Read(context.Background(), onDisk(map[string]string{
		"readings.csv": "machine,at,miles,hours,source\nM1,2199-01-01,1,,owner\n",
	}), Options{})
	require.NoError(t, err)
	assert.Empty(t, report.Faults)
	assert.Len(t, f.Readings, 1)
}

func TestContactsWithoutAnID(t *testing.T) {
	for name, want := range map[string]string{
		"Ana Ruiz":                 "O1/ana-ruiz",
		"  O'Neil, J.  (night) ":   "O1/o-neil-j-night",
		"Núñez":                    "O1/núñez",
		"":                         "O1/contact",
		"***":                      "O1/contact",
		strings.Repeat("ab ", 200): "O1/" + strings.Repeat("ab-", 34)[:maxID],
	} {
		assert.Equal(t, want, derivedID(models.Contact{Owner: "O1", Name: name}), name)
	}
}

// TestFilesThatAreNoCSV gives each file that is nothing to read one fault, and
// no faults that only follow from it.
func TestNumbersAreReadAsTheShopsCountryWritesThem(t *testing.T) {
	files := onDisk(map[string]string{"contacts.csv": "owner,name,role,mail,mobile,prefers,sms_consent_on,mail_consent_on\n" +
		"O1,Ada,service,,(970) 555-0110,phone,,\nO1,Bo,service,,+44 7700 900123,sms,,\n"})
	f, report := readAll(t, files, Options{Country: "US"})
	assert.Empty(t, texts(report.Faults))
	require.Len(t, f.Contacts, 2)
	assert.Equal(t, "+19705550110", f.Contacts[0].Mobile)
	assert.Equal(t, models.ChannelPhone, f.Contacts[0].Prefers)
	assert.Equal(t, "+447700900123", f.Contacts[1].Mobile)
}

func TestFilesThatAreNoCSV(t *testing.T) {
	header := "machine,tag,kind,owner,meters,in_service,miles_start,hours_start,miles_max\n"
	readings := "machine,at,miles,hours,source\nM9,2026-05-01,1,,owner\n"
	long := strings.Repeat("x", maxLine)
	for name, c := range map[string]struct{ machines, want string }{
		"UTF-16 little end":  {"\xff\xfem\x00a\x00", "machines.csv: is UTF-16 text; " + remedyUTF8},
		"UTF-16 big end":     {"\xfe\xff\x00m\x00a", "machines.csv: is UTF-16 text; " + remedyUTF8},
		"workbook":           {"PK\x03\x04\x14\x00\x06", "machines.csv: is a workbook or an archive, not CSV text; " + remedyUTF8},
		"zero byte":          {header + "M9,\x00", "machines.csv:2: is not text: it holds a zero byte; " + remedyUTF8},
		"binary":             {"\x7fELF\x02\x01\x01\x00\x00", "machines.csv:1: is not text: it holds a zero byte; " + remedyUTF8},
		"Latin-1":            {header + "M9,N\xfa\xf1ez,utv,O1,miles,,,,\nM8,\xfa,utv,O1,miles,,,,\n", "machines.csv:2: is not UTF-8 text; " + remedyUTF8},
		"long line":          {header + long + "\nM9,,utv,O1,miles,,,,\n", "machines.csv:2: is longer than 256 KiB; see whether line ends or quotes are missing"},
		"long header":        {long, "machines.csv:1: is longer than 256 KiB; see whether line ends or quotes are missing"},
		"carriage returns":   {strings.ReplaceAll(header, "\n", "\r") + "M9,,utv,O1,miles,,,,\r", "machines.csv:1: has line ends that are a carriage return alone; save it again with the usual line ends"},
		"a quote never shut": {header + "M9,\"U-1,utv,O1,miles,,,,\n" + strings.Repeat("M8,,utv,O1,miles,,,,\n", 2*maxRecordLines), "machines.csv:2:4: has a quote without its match; " + remedyQuote},
		"a ragged row":       {header + "M9,utv\n", "machines.csv:2: has 2 cells where the header has 9; write a comma for each empty cell too"},
		"nothing":            {"", "machines.csv: is empty; begin it with a header row: " + strings.Join(machinesFile().names(), ",")},
		"blank":              {"\n \n", "machines.csv: is empty; begin it with a header row: " + strings.Join(machinesFile().names(), ",")},
	} {
		t.Run(name, func(t *testing.T) {
			_, report := readAll(t, onDisk(map[string]string{"machines.csv": c.machines, "readings.csv": readings}), Options{})
			assert.Equal(t, []string{c.want}, texts(report.Faults))
		})
	}
}

func TestFilesThatAreNoFiles(t *testing.T) {
	fsys := onDisk(nil)
	fsys["readings.csv"] = &fstest.MapFile{Mode: fs.ModeDir}
	fsys["swaps.csv"] = &fstest.MapFile{Mode: fs.ModeNamedPipe}
	delete(fsys, "machines.csv")
	_, report := readAll(t, fsys, Options{})
	assert.Equal(t, []string{
		"machines.csv: is missing; add it: it is the one file that a folder must have",
		"readings.csv: is not a plain file; put a CSV file in its place",
		"swaps.csv: is not a plain file; put a CSV file in its place",
	}, texts(report.Faults))
}

func TestFoldersThatCannotBeRead(t *testing.T) {
	_, _, err := Read(context.Background(), os.DirFS(filepath.Join(t.TempDir(), "none")), Options{})
	assert.Equal(t, models.CodeInvalid, models.CodeOf(err))
	assert.ErrorIs(t, err, fs.ErrNotExist)

	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	_, _, err = Read(ctx, onDisk(nil), Options{})
	assert.ErrorIs(t, err, context.Canceled)
}

// failing is a file system whose files break off.
type failing struct{ fstest.MapFS }

func (f failing) Open(name string) (fs.File, error) {
	file, err := f.MapFS.Open(name)
	if name != "readings.csv" {
		return file, err
	}
	return brokenFile{file}, err
}

type brokenFile struct{ fs.File }

func (brokenFile) Read([]byte) (int, error) {
	return 0, &fs.PathError{Op: "read", Path: "readings.csv", Err: errors.New("input/output error")}
}

func TestFilesThatBreakOff(t *testing.T) {
	_, report := readAll(t, failing{onDisk(map[string]string{"readings.csv": "machine"})}, Options{})
	assert.Equal(t, []string{"readings.csv: cannot be read: input/output error; see that the file can be opened and try again"}, texts(report.Faults))
}

func TestALittleBelowZero(t *testing.T) {
	files := onDisk(map[string]string{
		"readings.csv": "machine,at,miles,hours,source\nM3,2026-05-01,-0.3,-0.9,owner\nM3,2026-05-02,-1,,owner\nM3,2026-05-03,-x,,owner\n",
		"services.csv": "machine,item,at,miles,hours\nM3,oil,2026-05-01,-0.3,\n",
	})
	_, report := readAll(t, files, Options{})
	assert.Len(t, report.Faults, 5)
	assert.Empty(t, report.Warnings)

	f, report := readAll(t, files, Options{NearZero: true})
	assert.Equal(t, []string{
		`readings.csv:3:15: miles "-1" is negative; ` + guessHint,
		`readings.csv:4:15: miles "-x" is not a number; ` + guessHint,
		`services.csv:2:19: miles "-0.3" is negative; ` + guessHint,
	}, texts(report.Faults))
	assert.Equal(t, []string{
		`readings.csv:2:15: miles "-0.3" is a little below zero and is taken as 0; ` + guessHint,
		`readings.csv:2:20: hours "-0.9" is a little below zero and is taken as 0; ` + guessHint,
	}, texts(report.Warnings))
	require.Len(t, f.Readings, 1)
	assert.Equal(t, models.Num(0), f.Readings[0].Miles)
}

// badReadings makes readings with n bad rows, each beside a good one.
func badReadings(n int) string {
	var b bytes.Buffer
	b.WriteString("machine,at,miles,hours,source\n")
	for i := range n {
		fmt.Fprintf(&b, "M1,2026-05-01,%d,,owner\nM1,2026-05-01,-%d,,owner\n", i, i+1)
	}
	return b.String()
}

func TestEveryBadRowIsTold(t *testing.T) {
	f, report := readAll(t, onDisk(map[string]string{"readings.csv": badReadings(100)}), Options{})
	require.Len(t, report.Faults, 100)
	assert.Len(t, f.Readings, 100)
	for i, fault := range report.Faults {
		assert.Equal(t, models.Fault{
			File: "readings.csv", Line: 2*i + 3, Column: 15, Field: "miles", Value: fmt.Sprintf("-%d", i+1),
			Problem: "is negative", Remedy: guessHint,
		}, fault)
	}
}

func TestFaultsAreBounded(t *testing.T) {
	_, report := readAll(t, onDisk(map[string]string{"readings.csv": badReadings(MaxFaults + 7)}), Options{})
	require.Len(t, report.Faults, MaxFaults+1)
	assert.Equal(t, "the folder: has 7 more faults than are listed here; mend these first and import again", report.Faults[MaxFaults].String())
}

func TestProgress(t *testing.T) {
	data := badReadings(3000)
	last, calls := int64(-1), 0
	_, _ = readAll(t, onDisk(map[string]string{"readings.csv": data}), Options{Progress: func(file string, done, total int64) {
		if file != "readings.csv" {
			return
		}
		assert.EqualValues(t, len(data), total)
		assert.Greater(t, done, last)
		last = done
		calls++
	}})
	assert.EqualValues(t, len(data), last)
	assert.Equal(t, 6, calls, "every 1024 rows and at the end")
}

// TestSlips checks the distance against the published example of the
// Levenshtein distance: kitten to sitting is 3 (NIST Dictionary of Algorithms
// and Data Structures, from memory).
func TestSlips(t *testing.T) {
	assert.Equal(t, 3, slips("kitten", "sitting"))
	assert.Equal(t, 0, slips("miles", "miles"))
	assert.Equal(t, 5, slips("", "miles"))
	assert.Equal(t, 5, slips("miles", ""))
}

// TestGuessesInFiles: a guess is understood in every meter cell. A reading
// keeps its width; a service and the start of a machine keep no guess, so that
// it is a reading of its own.
func TestGuessesInFiles(t *testing.T) {
	set, report := readAll(t, onDisk(map[string]string{
		"machines.csv": "machine,tag,kind,owner,meters,in_service,miles_start,hours_start,miles_max\n" +
			"M1,,utv,o,both,2025-01-01,about 1000,0,\nK1,,utv,o,km,,,,\n",
		"readings.csv": "machine,at,miles,hours,source,width\nM1,2025-02-01,about 1500,,owner,\nM1,2025-03-01,1500-1600,,owner,\n" +
			"M1,2025-04-01,1700+-100,,owner,\nM1,2025-05-01,\"1,800\",,owner,\nM1,2025-06-01,about 1900,,owner,20\nK1,2025-02-01,about 900 km,,owner,\n",
		"services.csv":  "machine,item,at,miles,hours\nM1,oil,2025-04-02,about 1700,90\n",
		"baselines.csv": "machine,item,on,state,miles\nM1,belt,2025-04-02,done,about 1200\n",
	}), Options{})
	require.Empty(t, texts(report.Faults))
	says := func(at string, miles, hours, width float64, source string) models.Reading {
		r := models.Reading{Machine: "M1", At: models.MustDate(at), Miles: models.Num(miles), Source: source}
		if width > 0 {
			r.Width = models.Num(width)
		}
		return r
	}
	k := says("2025-02-01", 900, 0, 80, "owner") // 50 miles
	k.Machine = "K1"
	assert.ElementsMatch(t, []models.Reading{
		says("2025-01-01", 1000, 0, 50, models.SourceShop), says("2025-02-01", 1500, 0, 75, "owner"), says("2025-03-01", 1550, 0, 50, "owner"),
		says("2025-04-01", 1700, 0, 100, "owner"), says("2025-05-01", 1800, 0, 0, "owner"), says("2025-06-01", 1900, 0, 20, "owner"), k,
		says("2025-04-02", 1700, 0, 85, models.SourceShop),
	}, set.Readings)
	assert.Equal(t, []models.Service{{Machine: "M1", Item: "oil", At: models.MustDate("2025-04-02"), Hours: models.Num(90)}}, set.Services)
	assert.Equal(t, models.Number{}, set.Machines[0].MilesStart)
	assert.Equal(t, models.Num(0), set.Machines[0].HoursStart)
	assert.Equal(t, models.Num(1200), set.Baselines[0].Miles)

	_, report = readAll(t, onDisk(map[string]string{
		"machines.csv": "machine,tag,kind,owner,meters,in_service,miles_start,hours_start,miles_max\nM1,,utv,o,both,,about 1000,0,\nP1,,pump,o,none,,5,,\n",
		"readings.csv": "machine,at,miles,hours,source\nM1,2025-02-01,about 1500,90,owner\nM1,2025-02-02,about 40 km,,owner\nP1,2025-02-02,,7,owner\n",
	}), Options{})
	assert.Equal(t, []string{
		"machines.csv:2:16: in_service is empty, and what the meters showed then is a guess; write the day of the guess, or move the guess to readings.csv",
		`machines.csv:3:18: miles_start "5" is for a meter that machine P1 does not have (it has none); empty the cell, or correct meters in machines.csv`,
		"readings.csv:2: width would be of miles and hours at once; write the two on rows of their own, each with its width",
		`readings.csv:3:15: miles "about 40 km" is in a unit that the meter does not show; ` + guessHint,
		`readings.csv:4:16: hours "7" is for a meter that machine P1 does not have (it has none); empty the cell, or correct meters in machines.csv`,
	}, texts(report.Faults))
}

// TestCharactersThatNobodySees are refused in ids, unless they are on record
// so or an export wrote the file.
func TestCharactersThatNobodySees(t *testing.T) {
	files := machinesOf("M\ufeff1,R1,O1")
	_, report := readAll(t, onDisk(files), Options{})
	assert.Equal(t, []string{`machines.csv:2:1: machine "M\ufeff1" holds a character that cannot be seen (U+FEFF); type the cell anew`}, texts(report.Faults))
	f, report := readAll(t, onDisk(files), Options{Stored: Stored{Machines: map[string]models.Machine{"M\ufeff1": {ID: "M\ufeff1"}}}})
	assert.Empty(t, texts(report.Faults))
	assert.Equal(t, "M\ufeff1", f.Machines[0].ID)
	assert.Len(t, report.Warnings, 1)
	files["contacts.csv"] = "owner,name,role,mail,mobile,prefers,sms_consent_on,mail_consent_on,contact\nO1,Ada,owner,ada@example.com,,,,,a\u200bda\n"
	_, report = readAll(t, onDisk(files), Options{})
	assert.Len(t, report.Faults, 2)
}
