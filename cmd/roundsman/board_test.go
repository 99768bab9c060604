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

// Where two owners have a machine of one tag, each line of it names the owner,
// also on a terminal that has no room for a column of owners.
func TestBoardNamesTheOwnersOfTwins(t *testing.T) {
	t.Parallel()
	line := func(owner, tag string) scheduler.BoardLine {
		on := models.MustDate("2026-11-14")
		return scheduler.BoardLine{Machine: models.Machine{ID: owner + tag, Tag: tag, Owner: owner}, Owner: models.Owner{ID: owner, Name: owner + " Ranch"},
			Forecast: models.Forecast{Item: models.ItemBattery, Stage: models.StageComing, EarlyOn: on, DueOn: on, LateOn: on, Driver: models.DriverCalendar}}
	}
	lines := []scheduler.BoardLine{line("juniper", "R1"), line("sage", "R1"), line("sage", "R2")}
	b := board{today: models.MustDate("2026-11-02"), lines: lines, view: scheduler.BoardView{Doubted: []models.Machine{lines[1].Machine, lines[2].Machine}}}
	for width, want := range map[int][]string{80: {"juniper Ranch: battery test", "sage Ranch: battery test"}, 100: {"juniper Ranch         battery test"}} {
		var out bytes.Buffer
		require.NoError(t, b.draw(&out, width))
		for _, w := range want {
			assert.Contains(t, out.String(), w)
		}
		assert.NotRegexp(t, `R2 .*Ranch: `, out.String(), "its tag says enough")
		assert.Contains(t, out.String(), "(sage/R1, R2)")
	}
}

// The first screen of a shop of 12 owners and 20 machines of half-known past
// fits a terminal, names all that is late or due, and says once for all of them
// that 20 machines want a first look.
func TestTheFirstScreenIsShortAndHidesNothing(t *testing.T) {
	t.Parallel()
	today := models.MustDate("2026-11-28")
	shop := newMovedShop(t, today)
	var set models.FactSet
	for i := range 20 {
		m := models.Machine{ID: fmt.Sprintf("M%02d", i), Tag: fmt.Sprintf("U-%d", i), Kind: []string{"utv", "atv", "tractor", "generator"}[i%4],
			Owner: fmt.Sprintf("o%d", i%12), Meters: models.MetersHours, InService: models.MustDate("2021-03-10").AddDays(97 * i)}
		if i%3 == 0 {
			m.HoursStart = models.Num(0)
		}
		set.Machines = append(set.Machines, m)
		for n := range 1 + i%4 {
			set.Readings = append(set.Readings, models.Reading{Machine: m.ID, At: models.MustDate("2025-02-05").AddDays(120*n + 9*i),
				Hours: models.Num(float64(150 + 13*i + 30*n)), Source: "owner"})
		}
		if i%2 == 0 {
			for n, item := range []string{models.ItemOil, models.ItemBelt, "air_filter", "plugs"}[i%4/2 : i%4/2+2] {
				set.Services = append(set.Services, models.Service{Machine: m.ID, Item: item, At: models.MustDate("2025-03-12").AddDays(30*i/2 + 20*n)})
			}
		}
	}
	shop.record(t, today, set)
	v, err := scheduler.Board(t.Context(), shop.Store, shop.Runner.Notify, shop.on(today))
	require.NoError(t, err)
	b := board{today: today, view: v, brief: true}
	urgent := map[[2]string]bool{}
	for _, l := range v.Lines {
		f := l.Forecast
		if f.Stage == models.StageClear {
			b.hidden++
			continue
		}
		b.lines = append(b.lines, l)
		if f.Stage == models.StageLate || f.Stage == models.StageDue {
			urgent[[2]string{l.Machine.Label(), models.ItemName(f.Item, "en")}] = true
		}
	}
	require.Greater(t, len(urgent), 8)
	b.leaveOutFar()
	for _, width := range []int{80, 120} {
		var out bytes.Buffer
		require.NoError(t, b.draw(&out, width))
		got := out.String()
		assert.Less(t, strings.Count(got, "\n"), 30, got)
		assert.Equal(t, 1, strings.Count(got, "first inspection"), got)
		assert.Contains(t, got, "20 units  no date")
		for u := range urgent {
			assert.Regexp(t, `(?m)^  `+u[0]+` .*`+strings.ReplaceAll(u[1], " ", `\s+`)+`|^  `+u[0]+` [^U]*`+strings.ReplaceAll(u[1], " ", `\s+`), got)
		}
	}
	var one bytes.Buffer
	b.brief = false
	require.NoError(t, b.draw(&one, 120))
	assert.Equal(t, 20, strings.Count(one.String(), "first inspection"), "--stage unsure lists each")
}

// A late date that was cut short is told as open, though it is the early one too.
func TestAnOpenLateDateIsSaid(t *testing.T) {
	t.Parallel()
	on := models.MustDate("2026-11-20")
	f := models.Forecast{Stage: models.StageComing, EarlyOn: on, DueOn: on, LateOn: on}
	b := board{today: models.MustDate("2026-11-02")}
	assert.Empty(t, b.why(f), "known to the day")
	f.LateOpen = true
	assert.Equal(t, "Nov 20 to after Nov 20", b.why(f))
}
