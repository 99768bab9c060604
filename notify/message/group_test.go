package message

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
)

func TestItemsThatReadAlikeAreToldOnce(t *testing.T) {
	day := models.MustDate("2026-03-10")
	n := func(item string, due models.Date) models.Notice {
		return models.Notice{Machine: "M1", Subject: models.SubjectItem, Item: item, Stage: models.StageDue,
			EarlyOn: due, DueOn: due, LateOn: due, Driver: models.DriverCalendar, LastOn: day.AddDays(-365)}
	}
	e := models.Envelope{Machines: map[string]models.Machine{"M1": {ID: "M1", Tag: "R1"}}, Notices: []models.Notice{
		n(models.ItemOil, day), n(models.ItemCoolant, day), n(models.ItemBattery, day.AddDays(1)), n(models.ItemCap, day)}}
	p := newPage(Shop{Name: "The shop"}, e, limits{})
	require.Len(t, p.Machines, 1)
	g := p.Machines[0].Groups
	require.Len(t, g, 2)
	assert.Equal(t, "Engine oil change, coolant change and pressure cap change", g[0].Title)
	assert.True(t, g[0].Cooling, "one of them touches the coolant")
	assert.Equal(t, "Battery test", g[1].Title)
}
