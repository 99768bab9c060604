package models

import (
	"os"
	"regexp"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestEveryAskIsInSpanish(t *testing.T) {
	source, err := os.ReadFile("ask.go")
	require.NoError(t, err)
	asks := regexp.MustCompile(`Ask = "([^"]+)"`).FindAllStringSubmatch(string(source), -1)
	require.Len(t, asks, len(asksInSpanish))
	for _, a := range asks {
		assert.NotEqual(t, a[1], Ask(a[1]).In("es-MX"), a[1])
		assert.Equal(t, a[1], Ask(a[1]).In("en"))
	}
}
