package service

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"log/slog"
	"time"

	"plotwarden/store"
	"plotwarden/weather/openmeteo"
	"plotwarden/weather/source"
)

// budgets are what may be asked of services that count our requests by the address
// from which they come. They hold for all sources of a service together, and a
// restart, or other settings, begin no new day.
type budgets struct {
	free *source.Budget // of Open-Meteo without a key
}

// keptStore keeps small things under a name.
type keptStore interface {
	Keep(ctx context.Context, name string, body []byte) error
	Kept(ctx context.Context, name string) ([]byte, error)
}

// keptBudget names what was spent at Open-Meteo's free addresses.
const keptBudget = "spent open-meteo"

// openBudgets goes on with what was spent before.
func openBudgets(ctx context.Context, st keptStore, log *slog.Logger) (*budgets, error) {
	var past []source.Spend
	body, err := st.Kept(ctx, keptBudget)
	if err == nil {
		err = json.Unmarshal(body, &past)
	}
	if err != nil && !errors.Is(err, store.ErrNotFound) {
		return nil, fmt.Errorf("read what was asked of the weather service today: %w", err)
	}
	b := &budgets{free: source.NewBudget(openmeteo.FreeWindows, past)}
	b.free.Record(func(spent []source.Spend) {
		body, err := json.Marshal(spent)
		if err == nil {
			// Not the round's context: what is about to be asked is asked.
			ctx, cancel := context.WithTimeout(context.WithoutCancel(ctx), 10*time.Second)
			defer cancel()
			err = st.Keep(ctx, keptBudget, body)
		}
		if err != nil {
			log.Error("requests of today not recorded; a restart would forget them", "error", err)
		}
	})
	return b, nil
}
