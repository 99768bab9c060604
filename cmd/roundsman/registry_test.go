package main

import (
	"bytes"
	"encoding/json"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
)

func TestAWalkInIsOneCommandAndWhatImportWouldTake(t *testing.T) {
	db := newDB(t)
	out := must(t, db, "machine", "add", "--new", "--new-owner", "Juniper Flat", "--contact", "Ada Reyes", "--mobile", "(970) 555-0110", "--agrees", "sms",
		"--consent-how", "in person", "--tag", "R12", "--kind", "utv", "--miles", "1500", "--hours", "92")
	assert.Equal(t, "Wrote down owner Juniper Flat (juniper-flat), contact Ada Reyes (juniper-flat/ada-reyes), machine R12 (juniper-flat-r12) of juniper-flat.\n", out)
	assert.Equal(t, "R12: recorded 1510 mi on 2026-11-02.\n", must(t, db, "reading", "R12", "--miles", "1510"))

	// The same facts by a folder give the same rows.
	folder := newDB(t)
	must(t, folder, "import", write(t, map[string]string{
		"owners.csv":   "owner,name,type\njuniper-flat,Juniper Flat,\n",
		"contacts.csv": "owner,name,role,mail,mobile,prefers,sms_consent_on,mail_consent_on,consent_how\njuniper-flat,Ada Reyes,owner,,(970) 555-0110,,2026-11-02,,in person\n",
		"machines.csv": "machine,tag,kind,owner,meters,in_service,miles_start,hours_start,miles_max\njuniper-flat-r12,R12,utv,juniper-flat,both,,,,\n",
		"readings.csv": "machine,at,miles,hours,source\njuniper-flat-r12,2026-11-02,1500,92,shop\njuniper-flat-r12,2026-11-02,1510,,shop\n",
	}))
	assert.Equal(t, contents(t, folder), contents(t, db))
}

func TestOwnersContactsAndMachinesAreWrittenDownCorrectedAndListed(t *testing.T) {
	db := newDB(t)
	assert.Equal(t, "Wrote down owner Elk Bend (elk-bend).\n", must(t, db, "owner", "add", "--new", "Elk Bend", "--type", "lodge"))
	assert.Equal(t, "Wrote down machine G1 (elk-bend-g1) of elk-bend.\n", must(t, db, "machine", "add", "--owner", "elk bend", "--tag", "G1", "--kind", "generator", "--hours", "410"))
	o := command(t, db, "contact", "list")
	assert.Contains(t, o.errs, "nobody is told at Elk Bend (elk-bend): nobody to tell; `roundsman contact add`")
	assert.Equal(t, "Wrote down contact Bo Lund (elk-bend/bo-lund).\n", must(t, db, "contact", "add", "Elk Bend", "Bo Lund", "--mobile", "970.555.0111", "--prefers", "phone"))
	o = command(t, db, "contact", "list")
	assert.Empty(t, o.errs)
	assert.Contains(t, o.out, "(970) 555-0111")
	assert.Contains(t, o.out, "phone")
	assert.Equal(t, "Changed contact Bo Lund (elk-bend/bo-lund).\n", must(t, db, "contact", "change", "elk-bend/bo-lund", "--mail", "bo@example.com", "--mobile", ""))
	assert.Equal(t, "Changed machine G2 (elk-bend-g1) of elk-bend.\n", must(t, db, "machine", "change", "G1", "--tag", "G2", "--cooling", "air"))
	assert.Equal(t, "Changed owner Elk Bend Lodge (elk-bend).\n", must(t, db, "owner", "change", "elk-bend", "--name", "Elk Bend Lodge"))
	assert.Equal(t, "Nothing new.\n", must(t, db, "owner", "change", "elk-bend", "--name", "Elk Bend Lodge"))
	var contacts []map[string]string
	require.NoError(t, json.Unmarshal([]byte(must(t, db, "contact", "list", "--owner", "elk bend lodge", "--json")), &contacts))
	require.Len(t, contacts, 1)
	assert.Equal(t, "bo@example.com", contacts[0]["mail"])
	assert.Empty(t, contacts[0]["mobile"])
	assert.Contains(t, must(t, db, "machine", "list"), "elk-bend-g1  G2   in use    generator  elk-bend  hours")
	assert.Contains(t, must(t, db, "owner", "list"), "Elk Bend Lodge")
}

// TestWhereMachinesStandIsListed: the lists of machines and the board say what is
// laid up, sold or gone; the board of one owner tells of nobody else's machines;
// and owners whose people agreed to nothing are among those of whom nobody is
// told.
func TestWhereMachinesStandIsListed(t *testing.T) {
	db := newDB(t)
	must(t, db, "owner", "add", "--new", "Elk Bend")
	must(t, db, "contact", "add", "Elk Bend", "Bo Lund", "--mobile", "970.555.0111")
	for _, tag := range []string{"G1", "G2", "G3"} {
		must(t, db, "machine", "add", "--owner", "elk bend", "--tag", tag, "--kind", "generator", "--hours", "410")
	}
	must(t, db, "machine", "add", "--new-owner", "Lone Pine", "--tag", "P1", "--kind", "generator", "--hours", "40")
	must(t, db, "standing", "G1", "laid_up", "--until", "2027-04-01")
	must(t, db, "standing", "G2", "sold")
	must(t, db, "standing", "G3", "scrapped")

	list := must(t, db, "machine", "list")
	assert.Regexp(t, `elk-bend-g1 +G1 +laid up until 2027-04-01`, list)
	assert.NotContains(t, list, "G2")
	list = must(t, db, "machine", "list", "--all")
	assert.Regexp(t, `elk-bend-g2 +G2 +sold`, list)
	assert.Regexp(t, `elk-bend-g3 +G3 +scrapped`, list)
	var rows []map[string]string
	require.NoError(t, json.Unmarshal([]byte(must(t, db, "machine", "list", "--json")), &rows))
	require.Len(t, rows, 2)
	assert.Equal(t, []string{"laid_up", "2027-04-01"}, []string{rows[0]["standing"], rows[0]["until"]})

	var board []map[string]any
	require.NoError(t, json.Unmarshal([]byte(must(t, db, "due", "--json")), &board))
	require.NotEmpty(t, board)
	for _, line := range board {
		want := map[string]any{"G1": "laid_up", "P1": "in_use"}[line["tag"].(string)]
		assert.Equal(t, want, line["standing"], line["tag"])
	}
	o := command(t, db, "due", "--owner", "Lone Pine")
	assert.NotContains(t, o.out+o.errs, "G1", "another owner's machine is laid up")
	o = command(t, db, "contact", "list")
	assert.Contains(t, o.errs, "Elk Bend (elk-bend): no consent, Lone Pine (lone-pine): nobody to tell")
}

// TestAMachineIsTakenInWithWhatPeopleSay: its complaint opens a job, the ways of
// writing are named as people name them, and what is known of its past is said
// in a few lines.
func TestAMachineIsTakenInWithWhatPeopleSay(t *testing.T) {
	db := newDB(t)
	out := must(t, db, "machine", "add", "--new", "--new-owner", "Elk Bend", "--contact", "Bo Lund", "--mobile", "970.555.0111", "--prefers", "Texts",
		"--tag", "U1", "--kind", "utv", "--hours", "410", "--complaint", "drips something green")
	assert.Contains(t, out, ", job 1.")
	assert.Contains(t, must(t, db, "job", "show", "1"), "drips something green")
	for said, want := range map[string]string{"call": "phone", "text": "sms", "e-mail": "mail"} {
		must(t, db, "contact", "change", "elk-bend/bo-lund", "--prefers", said)
		assert.Regexp(t, "0111 +"+want+`\b`, must(t, db, "contact", "list"), said)
	}
	must(t, db, "baseline", "U1", "coolant=done:2025-05", "belt=fine", "rest=unknown")
	known := must(t, db, "baseline", "U1")
	assert.Equal(t, 3, strings.Count(known, "\n"), known)
	assert.Contains(t, known, "done about 2025-05-15: coolant change\n")
	assert.Regexp(t, `(?m)^not known: .*engine oil`, known)
}

func TestTheDesksCommandsRefuseWithRemedies(t *testing.T) {
	db := newDB(t)
	must(t, db, "import", write(t, books))
	before := contents(t, db)
	for _, tt := range []struct {
		args []string
		says string
	}{
		{[]string{"machine", "add", "--tag", "X1", "--kind", "utv", "--miles", "5"}, "add --owner with a known owner, or --new-owner with a name"},
		{[]string{"machine", "add", "--owner", "O9", "--kind", "utv", "--miles", "5"}, "`roundsman owner list` lists them"},
		{[]string{"machine", "add", "--owner", "O1", "--kind", "utv"}, "machine: meters is empty; write miles, km, hours, both, both_km or none"},
		{[]string{"machine", "add", "--owner", "O1", "--mobile", "970 555 0110", "--kind", "utv", "--miles", "5"}, "add --contact with the person's name"},
		{[]string{"contact", "add", "O1", "Bo", "--mobile", "555-0110"}, `contact: mobile "555-0110" has no area code; write it with its area code`},
		{[]string{"contact", "add", "O1", "Bo", "--mail", "ADA@example.com"}, "is that of somebody there already: Ada Reyes (O1/ada-reyes); leave the person out, change that contact"},
		{[]string{"contact", "add", "O1", "Bo", "--mail", "bo@example.com", "--agrees", "mail"}, "consent_how is empty; say how consent was given"},
		{[]string{"contact", "add", "O1", "Bo", "--agrees", "fax", "--consent-how", "x"}, `column "fax_consent_on" is not one of this file`},
		{[]string{"owner", "change", "O9", "--name", "X"}, "there is no owner \"O9\"; if you mean O1, write that; else `roundsman owner list` lists them"},
		{[]string{"machine", "change", "R1", "--meters", "leagues"}, "write miles, km, hours, both, both_km or none"},
	} {
		o := command(t, db, tt.args...)
		assert.Equal(t, exitInput, o.code, "%v", tt.args)
		assert.Contains(t, o.errs, tt.says, "%v", tt.args)
	}
	assert.Equal(t, before, contents(t, db), "nothing of it was kept")
}

func TestTheBoardNamesOwnersWithNobodyToTell(t *testing.T) {
	db := newDB(t)
	must(t, db, "machine", "add", "--new", "--new-owner", "Elk Bend", "--tag", "G1", "--kind", "generator", "--hours", "410")
	var out, errs bytes.Buffer
	code := run(t.Context(), host{args: []string{"--db", db, "due"}, out: &out, errs: &errs, columns: 80,
		clock: models.ClockFunc(testClock)})
	assert.Equal(t, exitDone, code)
	assert.Contains(t, errs.String(), "nobody is told at Elk Bend (elk-bend)")
}

// TestARefusalByCommandAndPage: both faces ask the same service, need a reason,
// and a refused form keeps what was typed.
func TestARefusalByCommandAndPage(t *testing.T) {
	db := newDB(t)
	must(t, db, "import", write(t, books))
	var people []map[string]string
	require.NoError(t, json.Unmarshal([]byte(must(t, db, "contact", "list", "--json")), &people))
	id, owner := people[0]["contact"], people[0]["owner"]
	o := command(t, db, "contact", "stop", id)
	assert.Equal(t, exitInput, o.code)
	assert.Contains(t, o.errs, "nothing says why")
	assert.Contains(t, must(t, db, "contact", "stop", id, "--why", "said on the phone"), "No more messages go to")
	a, srv, client := openPages(t, db)
	stopped := func() bool {
		c, _, err := a.Store.Contact(t.Context(), id)
		require.NoError(t, err)
		return c.MailStopOn != 0
	}
	require.True(t, stopped())
	form := url.Values{"contact": {id}, "stop.act": {"lift"}, "stop.way": {"mail"}, "stop.why": {" "}}
	code, body := postForm(t, client, srv.URL+"/owners/"+owner+"/stop", form)
	assert.Equal(t, http.StatusUnprocessableEntity, code)
	assert.Contains(t, body, `value="lift" selected`)
	form.Set("stop.why", "wants them again")
	code, body = postForm(t, client, srv.URL+"/owners/"+owner+"/stop", form)
	assert.Equal(t, http.StatusSeeOther, code, body)
	assert.False(t, stopped())
	code, body = postForm(t, client, srv.URL+"/owners/"+owner+"/stop", form)
	assert.Equal(t, http.StatusConflict, code)
	assert.Contains(t, body, "nothing is stopped there")
	assert.Contains(t, body, "wants them again", "what was typed")
}

// TestAKindWithoutRulesIsToldAtEntry as an import tells it.
func TestAKindWithoutRulesIsToldAtEntry(t *testing.T) {
	t.Parallel()
	db := newDB(t)
	for kind, says := range map[string]string{"snowblower": "add rules for it", "quadd": "if you mean atv, write that"} {
		o := command(t, db, "machine", "add", "--new", "--new-owner", "Juniper Flat", "--kind", kind, "--hours", "5")
		require.Zero(t, o.code, o.errs)
		assert.Contains(t, o.errs, `kind "`+kind+`" has no rules, so that nothing falls due on such a machine; `)
		assert.Contains(t, o.errs, says)
	}
	assert.NotContains(t, command(t, db, "machine", "add", "--new-owner", "Juniper Flat", "--kind", "quad", "--hours", "5").errs, "has no rules")
}
