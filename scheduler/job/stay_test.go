package job

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"example.org/roundsman/models"
)

// A part that is being changed is not tested meanwhile.
func TestAChangeInHandCountsForItsTest(t *testing.T) {
	w := opened(t)
	w = must(t, w)(AddLine(w, utv, Defs(nil), Work{Item: models.ItemThermostatChange, By: "Pat"}))
	s := StayOf([]models.WholeJob{w}, day)
	assert.NotEmpty(t, s.Doing[models.ItemThermostatChange])
	assert.Equal(t, s.Doing[models.ItemThermostatChange], s.Doing[models.ItemThermostat])
	assert.Empty(t, s.Doing[models.ItemECTSensor])
}
