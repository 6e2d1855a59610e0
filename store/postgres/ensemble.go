package postgres

import (
	"context"
	"crypto/sha256"
	"errors"
	"fmt"

	"github.com/jackc/pgx/v5"

	"plotwarden/store"
	"plotwarden/store/pack"
	"plotwarden/weather"
)

// ensembleLock is the advisory lock that savers share and the sweep of unused
// bodies has alone: a body must not go between its being found and its being used.
const ensembleLock = 0x706c7764_0001

// SaveEnsembles keeps the newest runs of each entry's site and source, in place of
// those before, in one transaction. Entries that share their Members take the room
// of one.
func (s *Store) SaveEnsembles(ctx context.Context, entries []store.Ensemble) error {
	what := fmt.Sprintf("save the ensembles of %d sites", len(entries))
	at := map[*weather.Series]int{} // by the first run
	var hashes, bodies [][]byte
	type key struct{ site, source string }
	last := map[key]int{}
	for i, e := range entries {
		if e.Site == "" || e.Source == "" || len(e.Members) == 0 {
			return fmt.Errorf("%s: %w", what, errors.New("an ensemble without a site, a source or runs"))
		}
		last[key{e.Site, e.Source}] = i
		if _, ok := at[e.Members[0]]; !ok {
			at[e.Members[0]] = len(bodies)
			body := pack.Ensemble(e.Members)
			hash := sha256.Sum256(body)
			hashes, bodies = append(hashes, hash[:]), append(bodies, body)
		}
	}
	var sites, sources []string
	var times []int64
	var of [][]byte
	for i, e := range entries {
		if last[key{e.Site, e.Source}] == i {
			sites, sources, times, of = append(sites, e.Site), append(sources, e.Source), append(times, micros(e.At)), append(of, hashes[at[e.Members[0]]])
		}
	}
	err := s.change(ctx, what, func(tx pgx.Tx) error {
		if _, err := tx.Exec(ctx, `SELECT pg_advisory_xact_lock_shared($1)`, ensembleLock); err != nil {
			return err
		}
		if _, err := tx.Exec(ctx, `INSERT INTO ensemble_bodies (hash, body) SELECT hash, body FROM unnest($1::bytea[], $2::bytea[]) AS new (hash, body) ORDER BY hash ON CONFLICT (hash) DO NOTHING`, hashes, bodies); err != nil {
			return err
		}
		_, err := tx.Exec(ctx, `INSERT INTO ensembles (site, source, at, body) SELECT new.site, new.source, new.at, body.id FROM unnest($1::text[], $2::text[], $3::bigint[], $4::bytea[]) AS new (site, source, at, hash)
			JOIN ensemble_bodies AS body ON body.hash = new.hash ORDER BY 1, 2 ON CONFLICT (site, source) DO UPDATE SET at = excluded.at, body = excluded.body`, sites, sources, times, of)
		return err
	})
	if err != nil {
		return err
	}
	return s.change(ctx, "sweep unused ensembles", func(tx pgx.Tx) error {
		var alone bool
		if err := tx.QueryRow(ctx, `SELECT pg_try_advisory_xact_lock($1)`, ensembleLock).Scan(&alone); err != nil || !alone {
			return err // whoever saves next sweeps
		}
		_, err := tx.Exec(ctx, `DELETE FROM ensemble_bodies WHERE NOT EXISTS (SELECT 1 FROM ensembles WHERE ensembles.body = ensemble_bodies.id)`)
		return err
	})
}

// Ensemble returns the runs of a site that were fetched last, of whatever source.
// It is ErrNotFound where there are none.
func (s *Store) Ensemble(ctx context.Context, site string) (store.Ensemble, error) {
	what := "load the ensemble of " + site
	return first(list(ctx, s, what, func(row pgx.CollectableRow) (store.Ensemble, error) {
		e := store.Ensemble{Site: site}
		var at int64
		var blob []byte
		err := row.Scan(&e.Source, &at, &blob)
		if err != nil {
			return e, err
		}
		e.At = instant(at)
		e.Members, err = pack.OpenEnsemble(blob)
		return e, err
	}, `SELECT source, at, body.body FROM ensembles JOIN ensemble_bodies AS body ON body.id = ensembles.body WHERE site = $1 ORDER BY at DESC, source LIMIT 1`, site))(what)
}

// first takes the only entry of a list, and makes an empty one ErrNotFound.
func first[T any](list []T, err error) func(what string) (T, error) {
	return func(what string) (x T, _ error) {
		switch {
		case err != nil:
			return x, err
		case len(list) == 0:
			return x, fmt.Errorf("%s: %w", what, store.ErrNotFound)
		}
		return list[0], nil
	}
}
