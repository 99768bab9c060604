package app

import (
	"context"

	"example.org/roundsman/cmd/roundsman/demo"
)

// LoadDemo records the invented fleet of the demo.
func (a *App) LoadDemo(ctx context.Context) error {
	rules, err := a.Store.Rules(ctx)
	if err != nil {
		return err
	}
	_, err = a.Store.Record(ctx, factsOf(demo.Fleet(rules)), a.entry("demo", ""))
	return err
}
