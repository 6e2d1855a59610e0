package postgres

import (
	"cmp"
	"context"
	"slices"
	"time"

	"github.com/jackc/pgx/v5"

	"plotwarden/store/engine"
	"plotwarden/store/pack"
	"plotwarden/weather"
)

type place struct {
	site  string
	chunk int64
}

// chunks are the rows of weather that one transaction works on: all are locked and
// read at once, merged here, and written at once.
type chunks struct {
	tx      pgx.Tx
	wanted  map[place]bool
	blobs   map[place][]byte // nil: nothing kept
	changed map[place]bool
	damaged []place // of which the old contents are set aside
	merger  *pack.Merger
}

func newChunks(tx pgx.Tx) *chunks {
	return &chunks{tx, map[place]bool{}, map[place][]byte{}, map[place]bool{}, nil, pack.NewMerger()}
}

// want says that the rows of a series will be merged.
func (c *chunks) want(site string, h *weather.Series) {
	eachChunk(h, func(n int64) { c.wanted[place{site, n}] = true })
}

func eachChunk(h *weather.Series, use func(int64)) {
	if h.Len() == 0 {
		return
	}
	for n, last := engine.ChunkOf(h.Start()), engine.ChunkOf(h.End().Add(-time.Hour)); n <= last; n++ {
		use(n)
	}
}

func columns(of []place) (sites []string, ns []int64) {
	for _, p := range of {
		sites, ns = append(sites, p.site), append(ns, p.chunk)
	}
	return sites, ns
}

func inOrder(set map[place]bool) []place {
	out := make([]place, 0, len(set))
	for p := range set {
		out = append(out, p)
	}
	slices.SortFunc(out, func(a, b place) int { return cmp.Or(cmp.Compare(a.site, b.site), cmp.Compare(a.chunk, b.chunk)) })
	return out
}

// load locks the wanted rows against other transactions, those that are not there
// too, in one order for all, and reads them.
func (c *chunks) load(ctx context.Context) error {
	if len(c.wanted) == 0 {
		return nil
	}
	sites, ns := columns(inOrder(c.wanted))
	// What is there is locked and left as it is; what is not gets an empty row that
	// others wait for.
	if _, err := c.tx.Exec(ctx, `INSERT INTO weather (site, chunk, hours) SELECT site, chunk, '' FROM unnest($1::text[], $2::bigint[]) WITH ORDINALITY AS new (site, chunk, n) ORDER BY n
		ON CONFLICT (site, chunk) DO UPDATE SET hours = weather.hours WHERE false`, sites, ns); err != nil {
		return err
	}
	rows, err := c.tx.Query(ctx, `SELECT weather.site, weather.chunk, hours FROM weather JOIN unnest($1::text[], $2::bigint[]) AS want (site, chunk) ON weather.site = want.site AND weather.chunk = want.chunk`, sites, ns)
	if err != nil {
		return err
	}
	var p place
	var blob []byte
	_, err = pgx.ForEachRow(rows, []any{&p.site, &p.chunk, &blob}, func() error {
		c.blobs[p] = slices.Clone(engine.NoBlob(blob))
		return nil
	})
	return err
}

// merge puts the hours of a series into the rows of a site; all of them or, with
// an error, none.
func (c *chunks) merge(site string, h *weather.Series) (err error) {
	merged := map[place][]byte{}
	var damaged []place
	eachChunk(h, func(n int64) {
		if err != nil {
			return
		}
		p := place{site, n}
		blob, spoilt, failed := c.merger.Merge(c.blobs[p], engine.ChunkStart(n), engine.ChunkHours, h)
		switch {
		case failed != nil:
			err = failed
		case blob != nil:
			merged[p] = blob
		}
		if spoilt {
			damaged = append(damaged, p)
		}
	})
	if err != nil {
		return err
	}
	for p, blob := range merged {
		c.blobs[p], c.changed[p] = blob, true
	}
	c.damaged = append(c.damaged, damaged...)
	return nil
}

// save writes what merge changed, after setting aside what could not be read.
func (c *chunks) save(ctx context.Context) error {
	if len(c.damaged) > 0 {
		sites, ns := columns(c.damaged)
		if _, err := c.tx.Exec(ctx, `INSERT INTO set_aside (place, blob) SELECT 'weather ' || weather.site || ' ' || weather.chunk, hours FROM weather JOIN unnest($1::text[], $2::bigint[]) AS bad (site, chunk)
			ON weather.site = bad.site AND weather.chunk = bad.chunk`, sites, ns); err != nil {
			return err
		}
	}
	list := inOrder(c.changed)
	blobs := make([][]byte, len(list))
	for i, p := range list {
		blobs[i] = c.blobs[p]
	}
	if len(list) > 0 {
		sites, ns := columns(list)
		if _, err := c.tx.Exec(ctx, `UPDATE weather SET hours = new.hours FROM unnest($1::text[], $2::bigint[], $3::bytea[]) AS new (site, chunk, hours)
			WHERE weather.site = new.site AND weather.chunk = new.chunk`, sites, ns, blobs); err != nil {
			return err
		}
	}
	empty := map[place]bool{}
	for p := range c.wanted {
		empty[p] = c.blobs[p] == nil
	}
	gone := slices.DeleteFunc(inOrder(empty), func(p place) bool { return !empty[p] })
	if len(gone) == 0 {
		return nil
	}
	sites, ns := columns(gone)
	_, err := c.tx.Exec(ctx, `DELETE FROM weather USING unnest($1::text[], $2::bigint[]) AS gone (site, chunk) WHERE weather.site = gone.site AND weather.chunk = gone.chunk AND hours = ''`, sites, ns)
	return err
}
