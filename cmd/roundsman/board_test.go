package main

import (
	"bytes"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
	"example.org/roundsman/scheduler"
)

// What is due on all of an owner's machines on one day is one line; two that
// are alike, or another owner's, stay lines of their own.
func TestBoardDrawsAlikeMachinesOnOneLine(t *testing.T) {
	t.Parallel()
	line := func(owner, tag, item, due string) scheduler.BoardLine {
		on := models.MustDate(due)
		return scheduler.BoardLine{Machine: models.Machine{ID: owner + tag, Tag: tag, Owner: owner}, Owner: models.Owner{ID: owner, Name: owner},
			Forecast: models.Forecast{Item: item, Stage: models.StageComing, EarlyOn: on, DueOn: on, LateOn: on, Driver: models.DriverCalendar}}
	}
	var lines []scheduler.BoardLine
	for n := range 4 {
		lines = append(lines, line("Juniper Flat", fmt.Sprintf("J-%d", n+1), "lay_up", "2026-11-14"))
	}
	for n := range 2 {
		lines = append(lines, line("Two Forks", fmt.Sprintf("T-%d", n+1), "lay_up", "2026-11-14"))
	}
	lines = append(lines, line("Juniper Flat", "J-1", models.ItemBattery, "2026-11-20"))
	var out bytes.Buffer
	require.NoError(t, board{today: models.MustDate("2026-11-02"), lines: lines}.draw(&out, 100))
	got := out.String()
	assert.Contains(t, got, "4 units   Nov 14, in 12 days        Juniper Flat          winter lay-up: J-1, J-2, J-3, J-4\n")
	assert.Contains(t, got, "T-1       Nov 14")
	assert.Contains(t, got, "T-2       Nov 14")
	assert.Contains(t, got, "J-1       Nov 20")
	assert.Equal(t, 4, strings.Count(got, "Nov "))
	assert.Contains(t, got, "COMING  7 items")
}
