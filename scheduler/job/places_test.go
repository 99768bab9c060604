package job_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler/job"
)

// What is where on a machine is common practice, no source.
func TestAFaultElsewhereIsNoneOfTheRepair(t *testing.T) {
	cooling := models.Check{Def: "cooling_held"}
	for _, tc := range []struct {
		repair    models.Job
		check     models.Check
		words     string
		elsewhere bool
	}{
		{models.Job{}, cooling, "the new belt squeals now", true},
		{models.Job{}, cooling, "now the brakes squeal bad", true},
		{models.Job{}, cooling, "tira aceite", true},
		{models.Job{}, cooling, "a tire is flat", true},
		{models.Job{}, cooling, "it drips coolant again", false},
		{models.Job{}, cooling, "temp light came on", false},
		{models.Job{}, cooling, "se calienta", false},
		{models.Job{}, cooling, "still acting up", false},
		{models.Job{}, cooling, "the belt squeals and it runs hot", false},
		{models.Job{Complaint: "brakes grind"}, models.Check{Def: "held"}, "brakes still grind", false},
		{models.Job{Complaint: "brakes grind"}, models.Check{Def: "held"}, "it runs hot", true},
		{models.Job{}, models.Check{}, "brakes grind", false},
	} {
		assert.Equal(t, tc.elsewhere, job.Elsewhere(tc.repair, tc.check, tc.words), tc.words)
	}
	assert.True(t, job.Cooling("se le va el anticongelante"))
	assert.False(t, job.Cooling("the brakes squeal"))
}
