package sqlite

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"errors"
	"fmt"

	"plotwarden/store"
	"plotwarden/store/pack"
	"plotwarden/weather"
)

// SaveEnsembles keeps the newest runs of each entry's site and source, in place of
// those before, in one transaction. Entries that share their Members take the room
// of one.
func (s *Store) SaveEnsembles(ctx context.Context, list []store.Ensemble) error {
	return s.change(ctx, fmt.Sprintf("save the ensembles of %d sites", len(list)), func(tx *sql.Tx) error {
		k := newKeeper(tx)
		defer k.close()
		ids := map[*weather.Series]int64{} // by the first run
		for _, e := range list {
			if e.Site == "" || e.Source == "" || len(e.Members) == 0 {
				return errors.New("an ensemble without a site, a source or runs")
			}
			id, ok := ids[e.Members[0]]
			if !ok {
				var err error
				if id, err = k.runs(ctx, pack.Ensemble(e.Members)); err != nil {
					return err
				}
				ids[e.Members[0]] = id
			}
			if err := k.exec(ctx, `INSERT INTO ensembles (site, source, at, body) VALUES (?, ?, ?, ?)
				ON CONFLICT (site, source) DO UPDATE SET at = excluded.at, body = excluded.body`, e.Site, e.Source, micros(e.At), id); err != nil {
				return err
			}
		}
		return k.exec(ctx, `DELETE FROM ensemble_bodies WHERE id NOT IN (SELECT body FROM ensembles)`)
	})
}

// runs returns the row of a body, which it makes where there is none.
func (k *keeper) runs(ctx context.Context, body []byte) (id int64, err error) {
	hash := sha256.Sum256(body)
	if err := k.exec(ctx, `INSERT INTO ensemble_bodies (hash, body) VALUES (?, ?) ON CONFLICT (hash) DO NOTHING`, hash[:], body); err != nil {
		return 0, err
	}
	q, err := k.stmt(ctx, `SELECT id FROM ensemble_bodies WHERE hash = ?`)
	if err != nil {
		return 0, err
	}
	return id, q.QueryRowContext(ctx, hash[:]).Scan(&id)
}

// Ensemble returns the runs of a site that were fetched last, of whatever source.
// It is ErrNotFound where there are none.
func (s *Store) Ensemble(ctx context.Context, site string) (store.Ensemble, error) {
	what := "load the ensemble of " + site
	e := store.Ensemble{Site: site}
	var at int64
	var blob []byte
	err := s.read.QueryRowContext(ctx, `SELECT source, at, body.body FROM ensembles JOIN ensemble_bodies AS body ON body.id = ensembles.body
		WHERE site = ? ORDER BY at DESC, source LIMIT 1`, site).Scan(&e.Source, &at, &blob)
	if errors.Is(err, sql.ErrNoRows) {
		return store.Ensemble{}, fmt.Errorf("%s: %w", what, store.ErrNotFound)
	}
	if err != nil {
		return store.Ensemble{}, s.explain(what, err)
	}
	e.At = instant(at)
	if e.Members, err = pack.OpenEnsemble(blob); err != nil {
		return store.Ensemble{}, fmt.Errorf("%s: %w", what, err)
	}
	return e, nil
}
