package folder

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
)

// machinesOf writes machines.csv of rows "machine,tag,owner".
func machinesOf(rows ...string) map[string]string {
	text := "machine,tag,owner,kind,meters,in_service,miles_start,hours_start,miles_max\n"
	for _, r := range rows {
		text += r + ",utv,miles,,,,\n"
	}
	return map[string]string{"machines.csv": text}
}

// TestATagIsOfOneMachineThatIsHere at an owner, as replies compare tags;
// against the other rows of the file and against what is on record.
func TestATagIsOfOneMachineThatIsHere(t *testing.T) {
	m := func(id, tag, owner string) models.Machine { return models.Machine{ID: id, Tag: tag, Owner: owner} }
	stands := func(id string, state models.StandingState, owner string) map[string]models.MachineStanding {
		return map[string]models.MachineStanding{id: {Machine: id, On: today - 9, State: state, NewOwner: owner}}
	}
	for name, c := range map[string]struct {
		rows      []string
		standings string // of standings.csv, without its header
		machines  []models.Machine
		where     map[string]models.MachineStanding
		want      string // of the fault; "": none
	}{
		"two rows":                    {rows: []string{"M1,R-12,O1", "M2,r 12,O1"}, want: `machines.csv:3: tag "r 12" is that of another machine of the same owner: M1; ` + remedyTwin},
		"accents":                     {rows: []string{"M1,Año,O1", "M2,ANO,O1"}, want: `machines.csv:3: tag "ANO" is that of another machine of the same owner: M1`},
		"two owners":                  {rows: []string{"M1,R12,O1", "M2,R12,O2"}},
		"no tags":                     {rows: []string{"M1,,O1", "M2,-,O1"}},
		"one on record":               {rows: []string{"M2,R12,O1"}, machines: list(m("M1", "R-12", "O1")), want: `machines.csv:2: tag "R12" is that of another machine of the same owner: M1; ` + remedyTwin},
		"the row itself on record":    {rows: []string{"M1,R12,O1"}, machines: list(m("M1", "R12", "O1"))},
		"changed in the same file":    {rows: []string{"M1,R13,O1", "M2,R12,O1"}, machines: list(m("M1", "R12", "O1"))},
		"scrapped":                    {rows: []string{"M2,R12,O1"}, machines: list(m("M1", "R12", "O1")), where: stands("M1", models.StandsScrapped, "")},
		"sold to nobody known":        {rows: []string{"M1,R12,O1", "M2,R12,O1"}, machines: list(m("M1", "R12", "O1")), where: stands("M1", models.StandsSold, "")},
		"sold, and the file lags":     {rows: []string{"M1,R12,O1", "M2,R12,O1"}, machines: list(m("M1", "R12", "O2")), where: stands("M1", models.StandsSold, "O2")},
		"sold to one who has another": {rows: []string{"M1,R12,O2", "M2,R12,O2"}, machines: list(m("M1", "R12", "O2")), where: stands("M1", models.StandsSold, "O2"), want: `machines.csv:3: tag "R12" is that of another machine of the same owner: M1`},
		"gone by the same folder":     {rows: []string{"M1,R12,O1", "M2,R12,O1"}, standings: "M1,2026-05-01,gone,\n"},
		"gone, and taken back":        {rows: []string{"M1,R12,O1", "M2,R12,O1"}, standings: "M1,2026-05-01,gone,a slip\n", want: `machines.csv:3: tag "R12"`},
		"back by the same folder":     {rows: []string{"M2,R12,O1"}, machines: list(m("M1", "R12", "O1")), where: stands("M1", models.StandsGone, ""), standings: "M1,2026-11-01,in_use,\n", want: `machines.csv:2: tag "R12"`},
	} {
		t.Run(name, func(t *testing.T) {
			files := machinesOf(c.rows...)
			files["standings.csv"] = "machine,on,state,withdrawn\n" + c.standings
			stored := Stored{Machines: map[string]models.Machine{}, Standings: c.where}
			for _, m := range c.machines {
				stored.Machines[m.ID] = m
			}
			_, report := readAll(t, onDisk(files), Options{Stored: stored})
			if c.want == "" {
				assert.Empty(t, texts(report.Faults))
				return
			}
			require.Len(t, report.Faults, 1)
			assert.Contains(t, report.Faults[0].String(), c.want)
		})
	}
}

// TestOldTwinsAreOnlyWarnedOf: those on record are, with whatever else changes;
// so are those of an export, until somebody edits it. A third one is refused.
func TestOldTwinsAreOnlyWarnedOf(t *testing.T) {
	twins := map[string]models.Machine{"M1": {ID: "M1", Tag: "R12", Owner: "O1"}, "M2": {ID: "M2", Tag: "R12", Owner: "O1"}}
	recorded := Options{Stored: Stored{Machines: twins}}
	_, report := readAll(t, onDisk(machinesOf("M1,R12,O1", "M2,R-12,O1")), recorded)
	assert.Empty(t, texts(report.Faults))
	require.Len(t, report.Warnings, 1)
	assert.Contains(t, report.Warnings[0].String(), `machines.csv:3: tag "R-12" is that of another machine of the same owner: M1`)

	_, report = readAll(t, onDisk(machinesOf("M1,R12,O1", "M2,R12,O1", "M3,R12,O1")), recorded)
	assert.Len(t, report.Faults, 1)

	dir := t.TempDir()
	require.NoError(t, Write(t.Context(), dir, models.FactSet{Owners: list(models.Owner{ID: "O1", Name: "Elk Bench"}), Machines: list(
		models.Machine{ID: "M1", Tag: "R12", Owner: "O1", Kind: "utv", Meters: models.MetersMiles},
		models.Machine{ID: "M2", Tag: "R12", Owner: "O1", Kind: "utv", Meters: models.MetersMiles})}))
	_, report = readAll(t, os.DirFS(dir), Options{})
	assert.Empty(t, texts(report.Faults))
	assert.Len(t, report.Warnings, 1)
	path := filepath.Join(dir, "machines.csv")
	data, err := os.ReadFile(path)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(path, bytes.Replace(data, []byte("R12"), []byte("r12"), 1), 0o600))
	_, report = readAll(t, os.DirFS(dir), Options{})
	assert.Len(t, report.Faults, 1)
}

// TestRulesKeepWhatAFileHasNoColumnFor, and are judged with it: a
// rule that is due by a day of the year has a limit.
func TestRulesKeepWhatAFileHasNoColumnFor(t *testing.T) {
	old := models.Rule{Kind: "utv", Item: "coolant", Miles: models.Num(6000), Months: 24, SevereFactor: models.Num(0.5), LeadDays: 20,
		By: models.MonthDay{Month: 10, Day: 15}, Teardown: "intake", WorkMin: 30, AccessMin: 45, Note: "common practice", Since: today - 9}
	stored := Stored{Rules: models.ByKey(list(old), models.Rule.Key)}
	f, report := readAll(t, onDisk(map[string]string{"items.csv": "kind,item,miles,hours,months\nutv,coolant,,,\nutv,belt,900,,\n"}), Options{Stored: stored})
	assert.Empty(t, texts(report.Faults))
	require.Len(t, f.Rules, 2)
	want := old
	want.Miles, want.Months, want.Note, want.Origin = models.Number{}, 0, "", models.OriginFolder
	assert.Equal(t, want, f.Rules[0], "all but the note, which spoke of other figures")
	assert.Zero(t, f.Rules[1].LeadDays)
	f, _ = readAll(t, onDisk(map[string]string{"items.csv": "kind,item,miles,hours,months,lead_days,teardown\nutv,coolant,5000,,,,\n"}), Options{Stored: stored})
	assert.Zero(t, f.Rules[0].LeadDays)
	assert.Empty(t, f.Rules[0].Teardown)
	assert.Equal(t, 30, f.Rules[0].WorkMin)
}

// TestANumberOfTwoOwnersIsAskedAbout with its line, but where it is on record
// as shared.
func TestANumberOfTwoOwnersIsAskedAbout(t *testing.T) {
	files := map[string]string{
		"owners.csv":   "owner,name,type\nO1,Elk Bench,ranch\nO2,Bo Lund,private\n",
		"contacts.csv": "owner,name,role,mail,mobile,prefers,sms_consent_on,mail_consent_on\nO1,Ada,owner,ada@example.com,+12025550110,,,\nO2,Bo,owner,Ada@Example.com,+12025550110,,,\nO2,Cy,service,,+12025550111,,,\n",
		"machines.csv": "machine,tag,kind,owner,meters,in_service,miles_start,hours_start,miles_max\nM1,,utv,O1,miles,,,,\n",
	}
	set, report := readAll(t, onDisk(files), Options{})
	require.Empty(t, texts(report.Faults))
	assert.Equal(t, []string{`contacts.csv:3: mail "Ada@Example.com" is that of another owner too: Elk Bench (O1); ` + SharedRemedy,
		`contacts.csv:3: mobile "+12025550110" is that of another owner too: Elk Bench (O1); ` + SharedRemedy}, texts(report.Warnings))
	for _, w := range report.Warnings {
		assert.True(t, w.Asks)
	}
	stored := Stored{Contacts: models.ByKey(set.Contacts, func(c models.Contact) string { return c.ID })}
	_, report = readAll(t, onDisk(files), Options{Stored: stored})
	assert.Empty(t, texts(report.Warnings))
}
