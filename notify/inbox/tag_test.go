package inbox

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"example.org/roundsman/models"
)

// TestTagsAreTwinsWhereAReplyCannotTellThemApart: what is refused as another
// machine's tag is what a reply would take for it.
func TestTagsAreTwinsWhereAReplyCannotTellThemApart(t *testing.T) {
	tags := []string{"R12", "r 12", "R-12", "r_12", "R.12", "R–12", "r\u00a012", "R/12", "'R12'", "R#12", "R13", "R1 2", "Año 3", "ANO3", "año-3", "ñ", "N", "12", "Ü2", "u2"}
	for _, a := range tags {
		for _, b := range tags {
			key := func(tag string) models.TagKey { return models.Machine{Tag: tag}.TagKey() }
			assert.Equal(t, compact(fold(a)) == compact(fold(b)), key(a) == key(b), "%q and %q", a, b)
		}
	}
}

// TestADistanceAgoIsNoReading: what was run since then is not what the meter
// shows.
func TestADistanceAgoIsNoReading(t *testing.T) {
	for _, name := range []string{"one", "notice", "fleet"} {
		for _, text := range []string{"500 miles ago", "6120 miles ago", "changed the coolant 500 miles ago", "R12 coolant was done about 6100 mi ago", "412 hours ago", "hace 412 horas"} {
			for _, a := range Read(text, situation(t, name)).Acts {
				assert.False(t, a.Miles.Known || a.Hours.Known, "%s: %s: %+v", name, text, a)
			}
		}
	}
}
