package models_test

import (
	"encoding/json"
	"fmt"
	"reflect"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
)

// fill sets every field of a struct to a value of its own, so that a field
// that is lost or swapped is seen.
func fill(t *testing.T, v reflect.Value, n *int) {
	t.Helper()
	*n++
	switch p := v.Addr().Interface().(type) {
	case *models.Date:
		*p = models.MustDate("2026-01-01").AddDays(*n)
		return
	case *models.Instant:
		*p = models.Instant(1_700_000_000 + *n)
		return
	case *models.TimeOfDay:
		*p = models.At(0, 0) + models.TimeOfDay(*n%1440)
		return
	case *models.MonthDay:
		*p = models.MonthDay{Month: 10, Day: 1 + *n%31}
		return
	case *models.Number:
		*p = models.Num(float64(*n) + 0.5)
		return
	}
	switch v.Kind() {
	case reflect.String:
		v.SetString(fmt.Sprintf("text %d é\"\n", *n))
	case reflect.Int, reflect.Int64:
		v.SetInt(int64(*n))
	case reflect.Float64:
		v.SetFloat(float64(*n) + 0.25)
	case reflect.Bool:
		v.SetBool(true)
	case reflect.Pointer:
		v.Set(reflect.New(v.Type().Elem()))
		fill(t, v.Elem(), n)
	case reflect.Slice:
		v.Set(reflect.MakeSlice(v.Type(), 2, 2))
		fill(t, v.Index(0), n)
		fill(t, v.Index(1), n)
	case reflect.Uint8:
		v.SetUint(uint64(*n % 256))
	case reflect.Map:
		v.Set(reflect.MakeMap(v.Type()))
		key, elem := reflect.New(v.Type().Key()).Elem(), reflect.New(v.Type().Elem()).Elem()
		fill(t, key, n)
		fill(t, elem, n)
		v.SetMapIndex(key, elem)
	case reflect.Struct:
		for i := range v.NumField() {
			fill(t, v.Field(i), n)
		}
	default:
		t.Fatalf("no value is known for a %s", v.Type())
	}
}

// Every domain type comes back from JSON as it went in: full and empty.
func TestJSONRoundTrip(t *testing.T) {
	for _, v := range []any{
		&models.Entry{}, &models.Owner{}, &models.Contact{}, &models.Machine{}, &models.Reading{}, &models.ReadingReview{},
		&models.Swap{}, &models.Service{}, &models.History{}, &models.Rule{}, &models.Teardown{}, &models.Forecast{},
		&models.Notice{}, &models.Message{}, &models.Attempt{}, &models.Envelope{}, &models.Round{}, &models.MachineState{},
		&models.Profile{}, &models.Doubt{}, &models.Fault{},
	} {
		typ := reflect.TypeOf(v).Elem()
		t.Run(typ.Name(), func(t *testing.T) {
			for _, full := range []bool{true, false} {
				in := reflect.New(typ)
				if full {
					n := 0
					fill(t, in.Elem(), &n)
					assert.Greater(t, n, typ.NumField())
				}
				b, err := json.Marshal(in.Interface())
				require.NoError(t, err)
				out := reflect.New(typ)
				require.NoError(t, json.Unmarshal(b, out.Interface()), "%s", b)
				assert.Equal(t, in.Interface(), out.Interface(), "%s", b)
			}
		})
	}
}

// Values that are not known are null and not zero.
func TestJSONOfUnknown(t *testing.T) {
	b, err := json.Marshal(struct {
		D models.Date
		I models.Instant
		N models.Number
		L models.Remaining
	}{})
	require.NoError(t, err)
	assert.JSONEq(t, `{"D":null,"I":null,"N":null,"L":{"miles":null,"km":null,"hours":null,"days":null}}`, string(b))
	b, err = json.Marshal(models.Num(0))
	require.NoError(t, err)
	assert.Equal(t, "0", string(b))
}

// scanner and valuer are how values are stored; every one comes back.
func TestStoredValues(t *testing.T) {
	type stored interface{ GormDataType() string }
	for _, v := range []stored{models.Date(739_000), models.Instant(1_700_000_000), models.Num(12.5), models.At(7, 30), models.MonthDay{Month: 2, Day: 29}, models.Degrees(-36.4)} {
		value := reflect.ValueOf(v).MethodByName("Value").Call(nil)
		require.True(t, value[1].IsNil())
		back := reflect.New(reflect.TypeOf(v))
		err := back.MethodByName("Scan").Call([]reflect.Value{value[0].Elem()})
		require.True(t, err[0].IsNil(), "%v", err)
		assert.Equal(t, v, back.Elem().Interface())
		assert.NotEmpty(t, v.GormDataType())
	}
}
