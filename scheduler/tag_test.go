package scheduler_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
	"example.org/roundsman/models/folder"
	"example.org/roundsman/scheduler"
)

// TestATagIsFreeOnceItsMachineHasLeft and not before, whatever the act by which
// another machine would get it.
func TestATagIsFreeOnceItsMachineHasLeft(t *testing.T) {
	st := openStore(t)
	reg, care := registryOf(st), scheduler.Care{Store: st, Zone: denver}
	by := scheduler.By{At: deskAct.At, Actor: "Dana", Means: "page"}
	first, err := reg.Add(t.Context(), deskAct, walkIn())
	require.NoError(t, err)
	second := func(tag string) scheduler.Intake {
		return scheduler.Intake{Machine: folder.Cells{"owner": first.Owner.ID, "tag": tag, "kind": "atv", "meters": "hours"}}
	}
	_, err = reg.Add(t.Context(), deskAct, second("r-12"))
	require.EqualError(t, err, `machine: tag "r-12" is that of another machine of the same owner: juniper-flat-ranch-r12; `+
		"give one of the two another tag, or say first that the other was sold, scrapped or is gone")
	other, err := reg.Add(t.Context(), deskAct, second("R13"))
	require.NoError(t, err)
	change := scheduler.Intake{Machine: folder.Cells{"machine": other.Machine.ID, "tag": "R12"}}
	_, err = reg.Change(t.Context(), deskAct, change)
	assert.Equal(t, models.CodeInvalid, models.CodeOf(err))

	_, err = care.Change(t.Context(), first.Machine, scheduler.Standing{State: models.StandsScrapped}, by)
	require.NoError(t, err)
	got, err := reg.Change(t.Context(), deskAct, change)
	require.NoError(t, err)

	const twin = "machine juniper-flat-ranch-r13 of owner juniper-flat-ranch has the tag R12 too"
	_, err = care.Change(t.Context(), first.Machine, scheduler.Standing{State: models.StandsInUse}, by)
	assert.ErrorContains(t, err, twin, "back")
	facts, err := st.FactsOf(t.Context(), first.Machine.ID, 0, -1)
	require.NoError(t, err)
	for _, f := range facts {
		if f.Sort == models.SortStanding {
			_, err = st.Withdraw(t.Context(), first.Machine.ID, models.Withdrawal{Sort: f.Sort, Taken: f.Row, Why: "a slip"}, models.Entry{RecordedAt: 1_800_000_000})
			assert.ErrorContains(t, err, twin, "taken back")
		}
	}

	elsewhere, err := reg.Add(t.Context(), deskAct, scheduler.Intake{Owner: folder.Cells{"name": "Sage Hollow"}, Machine: folder.Cells{"tag": "r 12", "kind": "utv", "meters": "hours"}})
	require.NoError(t, err, "another owner's")
	_, err = care.Change(t.Context(), got.Machine, scheduler.Standing{State: models.StandsSold, To: elsewhere.Owner.ID}, by)
	assert.ErrorContains(t, err, "has the tag r 12 too", "sold to one who has such a tag")
	_, err = reg.Change(t.Context(), deskAct, scheduler.Intake{Machine: folder.Cells{"machine": elsewhere.Machine.ID, "site": "barn"}})
	assert.NoError(t, err)
}
