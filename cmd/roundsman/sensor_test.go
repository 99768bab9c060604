package main

import (
	"encoding/json"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The figures are those of the cooling package's own tests, which name their
// sources.
func TestSensor(t *testing.T) {
	t.Parallel()
	table := []string{"sensor", "--point", "20=2500", "--point", "100C=193.325"}
	for _, tc := range []struct {
		args []string
		want string
	}{
		{append(table, "--ohm", "2500"), "68 °F (20.0 °C), 2500 ohm: good, a temperature that coolant has.\n"},
		{append(table, "--ohm", "328.839"), "80.0 °C"},
		{append(table, "--temp", "-20"), "1.649e+04 ohm"},
		{append(table, "--volts", "3.571429", "--pull-up", "1000"), "20.0 °C"},
		{append(table, "--volts", "5", "--pull-up", "1000"), "open circuit"},
		{append(table, "--ohm", "1"), "short circuit"},
		{[]string{"sensor", "--frame", "41 05 7B"}, "181 °F (83.0 °C): good, a temperature that coolant has.\n"},
		{[]string{"sensor", "--frame", "41 05 00"}, "suspect, -40 °C is also what an open sensor"},
	} {
		assert.Contains(t, must(t, "", tc.args...), tc.want, "%v", tc.args)
	}
	var got struct {
		State string   `json:"state"`
		TempC *float64 `json:"temp_c"`
	}
	require.NoError(t, json.Unmarshal([]byte(must(t, "", append(table, "--ohm", "2500", "--json")...)), &got))
	require.NotNil(t, got.TempC)
	assert.InDelta(t, 20, *got.TempC, 1e-6)
	assert.Equal(t, "good", got.State)
	for _, bad := range [][]string{{"sensor"}, table, {"sensor", "--ohm", "3"}, {"sensor", "--point", "20:2500", "--ohm", "3"},
		{"sensor", "--frame", "NO DATA"}, append(table, "--volts", "6", "--pull-up", "1000"), append(table, "--volts", "3")} {
		o := command(t, "", bad...)
		assert.Equal(t, exitInput, o.code, "%v", bad)
		assert.Empty(t, o.out)
	}
}
