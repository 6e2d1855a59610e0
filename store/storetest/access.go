package storetest

import (
	"fmt"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/store"
)

func account(person string) store.Account {
	return store.Account{Person: person, Login: person + "@example.org", Role: "grower", Password: "$argon2id$x", Created: t0}
}

func testAccounts(t *testing.T, s Store) {
	ctx := t.Context()
	_, err := s.Account(ctx, "ada")
	assert.ErrorIs(t, err, store.ErrNotFound)
	assert.ErrorContains(t, err, "ada")
	ben, err := s.PutAccount(ctx, account("ben"))
	require.NoError(t, err)
	ada, err := s.PutAccount(ctx, account("ada"))
	require.NoError(t, err)
	assert.EqualValues(t, 1, ada.Rev)
	_, err = s.PutAccount(ctx, account("ada"))
	assert.ErrorIs(t, err, store.ErrConflict)
	got, err := s.Account(ctx, "ada")
	require.NoError(t, err)
	assert.Equal(t, ada, got)
	assert.True(t, got.Closed.IsZero())

	changed := ada
	changed.Role, changed.Passkeys, changed.Closed = "owner", []byte("keys"), t0.Add(time.Hour)
	changed, err = s.PutAccount(ctx, changed)
	require.NoError(t, err)
	assert.EqualValues(t, 2, changed.Rev)
	_, err = s.PutAccount(ctx, ada)
	assert.ErrorIs(t, err, store.ErrConflict, "an older one was seen")
	got, err = s.AccountByLogin(ctx, "ada@example.org")
	require.NoError(t, err)
	assert.Equal(t, changed, got)
	stolen := changed
	stolen.Login = ben.Login
	_, err = s.PutAccount(ctx, stolen)
	assert.ErrorIs(t, err, store.ErrTaken)
	_, err = s.AccountByLogin(ctx, "nobody")
	assert.ErrorIs(t, err, store.ErrNotFound)
	all, err := s.Accounts(ctx)
	require.NoError(t, err)
	assert.Equal(t, []store.Account{changed, ben}, all)
	upper := account("cy")
	upper.Login = "Cy"
	_, err = s.PutAccount(ctx, upper)
	assert.ErrorContains(t, err, "lower case")
	_, err = s.PutAccount(ctx, store.Account{Person: "cy"})
	assert.ErrorContains(t, err, "needs")
}

func testLogins(t *testing.T, s Store) {
	var mu sync.Mutex
	won := 0
	var wg sync.WaitGroup
	for i := range 8 {
		wg.Go(func() {
			a := account(fmt.Sprintf("p%d", i))
			a.Login = "shared"
			if _, err := s.PutAccount(t.Context(), a); err != nil {
				assert.ErrorIs(t, err, store.ErrTaken)
				return
			}
			mu.Lock()
			won++
			mu.Unlock()
		})
	}
	wg.Wait()
	assert.Equal(t, 1, won)
}

func grant(id, kind, person, site string) store.Grant {
	return store.Grant{Hash: "hash " + id, ID: id, Kind: kind, Person: person, Site: site, Name: "of " + id, Body: []byte("body"), Created: t0}
}

func testGrants(t *testing.T, s Store) {
	ctx := t.Context()
	session, share, token := grant("b", store.SessionGrant, "ada", ""), grant("c", store.ShareGrant, "ada", "north"), grant("a", store.TokenGrant, "ben", "")
	session.Expires, share.Created, token.Body = t0.Add(time.Hour), t0.Add(-time.Hour), nil
	for _, g := range []store.Grant{session, share, token} {
		require.NoError(t, s.AddGrant(ctx, g))
	}
	assert.ErrorIs(t, s.AddGrant(ctx, session), store.ErrConflict)
	again := grant("b", store.TokenGrant, "ada", "")
	again.Hash = "another"
	assert.ErrorIs(t, s.AddGrant(ctx, again), store.ErrConflict, "the id is there")
	assert.ErrorContains(t, s.AddGrant(ctx, store.Grant{ID: "x", Kind: "token"}), "hash")

	got, err := s.Grant(ctx, "hash b")
	require.NoError(t, err)
	assert.Equal(t, session, got)
	_, err = s.Grant(ctx, "hash of nothing")
	assert.ErrorIs(t, err, store.ErrNotFound)
	list := func(kind, person, site string) (ids []string) {
		got, err := s.Grants(ctx, kind, person, site)
		require.NoError(t, err)
		for _, g := range got {
			ids = append(ids, g.ID)
		}
		return ids
	}
	assert.Equal(t, []string{"c", "a", "b"}, list("", "", ""), "in order of creation and id")
	assert.Equal(t, []string{"c", "b"}, list("", "ada", ""))
	assert.Equal(t, []string{"b"}, list(store.SessionGrant, "ada", ""))
	assert.Equal(t, []string{"c"}, list("", "", "north"))
	assert.Empty(t, list(store.InviteGrant, "", ""))

	require.NoError(t, s.SeeGrant(ctx, "hash b", t0.Add(time.Minute)))
	require.NoError(t, s.SeeGrant(ctx, "hash b", t0), "a clock behind")
	assert.ErrorIs(t, s.SeeGrant(ctx, "hash of nothing", t0), store.ErrNotFound)
	require.NoError(t, s.EndGrant(ctx, "c", t0.Add(2*time.Hour)))
	assert.ErrorIs(t, s.EndGrant(ctx, "c", t0.Add(3*time.Hour)), store.ErrTaken)
	assert.ErrorIs(t, s.EndGrant(ctx, "nothing", t0), store.ErrNotFound)
	got, err = s.Grant(ctx, "hash b")
	require.NoError(t, err)
	assert.Equal(t, t0.Add(time.Minute), got.Seen)
	got, err = s.Grant(ctx, "hash c")
	require.NoError(t, err)
	assert.Equal(t, t0.Add(2*time.Hour), got.Ended)

	require.NoError(t, s.PruneGrants(ctx, t0.Add(time.Hour)))
	assert.Equal(t, []string{"c", "a", "b"}, list("", "", ""), "none before that time")
	require.NoError(t, s.PruneGrants(ctx, t0.Add(time.Hour+time.Second)))
	assert.Equal(t, []string{"c", "a"}, list("", "", ""), "what expired is gone")
	require.NoError(t, s.PruneGrants(ctx, t0.Add(1000*time.Hour)))
	assert.Equal(t, []string{"a"}, list("", "", ""), "what never expires stays")
}

func testGrantEndsOnce(t *testing.T, s Store) {
	require.NoError(t, s.AddGrant(t.Context(), grant("invite", store.InviteGrant, "ada", "north")))
	var mu sync.Mutex
	won := 0
	var wg sync.WaitGroup
	for i := range 8 {
		wg.Go(func() {
			if err := s.EndGrant(t.Context(), "invite", t0.Add(time.Duration(i)*time.Second)); err != nil {
				assert.ErrorIs(t, err, store.ErrTaken)
				return
			}
			mu.Lock()
			won++
			mu.Unlock()
		})
	}
	wg.Wait()
	assert.Equal(t, 1, won)
}

func testAudits(t *testing.T, s Store) {
	ctx := t.Context()
	for i := range 5 {
		require.NoError(t, s.AddAudit(ctx, store.Audit{ID: 99, At: t0.Add(time.Duration(i) * time.Minute), Person: "ada", From: "192.0.2.1", Did: fmt.Sprint("did-", i), On: "north", Detail: "more"}))
	}
	page, err := s.Audits(ctx, 0, 2)
	require.NoError(t, err)
	require.Len(t, page, 2)
	assert.Equal(t, []string{"did-4", "did-3"}, []string{page[0].Did, page[1].Did})
	want := store.Audit{ID: page[0].ID, At: t0.Add(4 * time.Minute), Person: "ada", From: "192.0.2.1", Did: "did-4", On: "north", Detail: "more"}
	assert.Equal(t, want, page[0])
	rest, err := s.Audits(ctx, page[1].ID, 10)
	require.NoError(t, err)
	require.Len(t, rest, 3)
	assert.Equal(t, "did-2", rest[0].Did)
	none, err := s.Audits(ctx, rest[2].ID, 10)
	require.NoError(t, err)
	assert.Empty(t, none)
}
