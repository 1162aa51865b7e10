package store_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"yardwright/batch/length"
	"yardwright/server/store"
)

// The bounds of names and lengths hold in the schema as well, and are said at the field.
func TestBoundsOfTheSchema(t *testing.T) {
	t.Parallel()
	ctx, b := setup(t)
	long := strings.Repeat("w", 81)
	plain := store.Cloth{Name: "Plain", Design: "solid", FullWidth: 44 * length.Inch, PriceUnit: "yd", Nap: "either way", Thickness: "thin"}
	for _, test := range []struct {
		name, field string
		change      func(*store.Cloth)
	}{
		{"a long name", "name", func(c *store.Cloth) { c.Name = long }},
		{"a name of two lines", "name", func(c *store.Cloth) { c.Name = "a\nb" }},
		{"long content", "content", func(c *store.Cloth) { c.Content = strings.Repeat("w", 201) }},
		{"a width of 1000 m", "full_width", func(c *store.Cloth) { c.FullWidth = 1000 * length.Metre }},
		{"a width of a millimetre", "full_width", func(c *store.Cloth) { c.FullWidth = length.Millimetre }},
		{"a repeat of 11 m", "repeat_length", func(c *store.Cloth) { c.RepeatLength = 11 * length.Metre }},
	} {
		cloth := plain
		test.change(&cloth)
		requireRefused(t, b.InTx(ctx, func(s *store.Store) error { _, err := s.AddCloth(ctx, b.workshop, cloth); return err }), test.field)
	}
	cloth, err := b.AddCloth(ctx, b.workshop, plain)
	require.NoError(t, err)
	for field, bolt := range map[string]store.Bolt{
		"length": {Name: "B1", ClothID: cloth, Length: 10_001 * length.Metre}, "lot": {Name: "B1", ClothID: cloth, Length: length.Metre, Lot: long},
		"place": {Name: "B1", ClothID: cloth, Length: length.Metre, Place: long},
	} {
		requireRefused(t, b.InTx(ctx, func(s *store.Store) error { _, err := s.AddBolt(ctx, b.workshop, bolt, nil); return err }), field)
	}
	w, err := b.Workshop(ctx, b.workshop)
	require.NoError(t, err)
	w.TableLength, w.EndLoss = 20*length.Inch, 9*length.Inch
	requireRefused(t, b.InTx(ctx, func(s *store.Store) error { return s.SaveWorkshop(ctx, w) }), "end_loss")
	_, err = b.AddCustomer(ctx, b.workshop, store.Customer{Name: "O'Malley & Töchter ✂", Kind: "shop", Note: "two\nlines"})
	require.NoError(t, err, "letters of every script and notes of several lines are fine")
}

func requireRefused(t *testing.T, err error, field string) {
	t.Helper()
	var fault *store.Fault
	require.ErrorAs(t, err, &fault, field)
	require.Equal(t, store.Invalid, fault.Kind)
	require.Contains(t, fault.FieldMessages(), field)
}
