package account

import (
	"context"
	"crypto/rand"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/go-webauthn/webauthn/protocol"
	"github.com/go-webauthn/webauthn/webauthn"

	"plotwarden/access"
	"plotwarden/store"
	"plotwarden/web/page"
)

// handleGrant leads from the user handle that a passkey carries to its person: a
// random number, because the handle must say nothing of who it is (Web
// Authentication Level 3, 14.6.1).
const handleGrant = "handle"

// handleBytes is the size of a user handle.
const handleBytes = 32

// passkeys are those of one account, as the store keeps them.
type passkeys struct {
	Handle []byte    `json:"handle"`
	Keys   []passkey `json:"keys"`
}

type passkey struct {
	ID         string              `json:"id"`
	Name       string              `json:"name"`
	Created    time.Time           `json:"created"`
	Credential webauthn.Credential `json:"credential"`
}

func passkeysOf(acc store.Account) (k passkeys, err error) {
	if len(acc.Passkeys) > 0 {
		if err = json.Unmarshal(acc.Passkeys, &k); err != nil {
			err = fmt.Errorf("read the passkeys of %s: %w", acc.Person, err)
		}
	}
	return k, err
}

func (k *passkeys) into(acc *store.Account) (err error) {
	acc.Passkeys, err = json.Marshal(k)
	return err
}

// user is an account as the library wants it.
type user struct {
	acc  store.Account
	name string
	keys passkeys
}

func (u *user) WebAuthnID() []byte          { return u.keys.Handle }
func (u *user) WebAuthnName() string        { return u.acc.Login }
func (u *user) WebAuthnDisplayName() string { return u.name }
func (u *user) WebAuthnCredentials() []webauthn.Credential {
	out := make([]webauthn.Credential, len(u.keys.Keys))
	for i := range u.keys.Keys {
		out[i] = u.keys.Keys[i].Credential
	}
	return out
}

// relyingParty returns what passkeys belong to: the configured address, or this
// machine by its own name; nil where neither is, since browsers then have none.
func (a *Accounts) relyingParty(r *http.Request) *webauthn.WebAuthn {
	base := a.base()
	if base == "" && !callerOf(r.Context()).secure && strings.EqualFold(hostOf(r.Host), "localhost") {
		base = "http://" + r.Host
	}
	u, err := url.Parse(base)
	if err != nil || u.Scheme != "https" && u.Hostname() != "localhost" {
		return nil
	}
	rp, err := webauthn.New(&webauthn.Config{
		RPID: u.Hostname(), RPDisplayName: "plotwarden", RPOrigins: []string{u.Scheme + "://" + u.Host},
		AttestationPreference: protocol.PreferNoAttestation,
		AuthenticatorSelection: protocol.AuthenticatorSelection{
			ResidentKey: protocol.ResidentKeyRequirementRequired, RequireResidentKey: protocol.ResidentKeyRequired(), UserVerification: protocol.VerificationRequired,
		},
	})
	if err != nil {
		a.Log.ErrorContext(r.Context(), "passkeys are off: the address does not fit them", "address", base, "error", err)
		return nil
	}
	return rp
}

// offer is what the script hands to the browser.
type offer struct {
	Ceremony string `json:"ceremony"`
	Options  any    `json:"options"`
}

// answer is what the browser gave.
type answer struct {
	Ceremony   string          `json:"ceremony"`
	Name       string          `json:"name"`
	To         string          `json:"to"`
	Credential json.RawMessage `json:"credential"`
}

func reply(w http.ResponseWriter, status int, v any) {
	w.Header().Set("Content-Type", "application/json")
	w.Header().Set("Cache-Control", "no-store")
	w.WriteHeader(status)
	_ = json.NewEncoder(w).Encode(v) // the browser is gone: nothing to tell it
}

// deny tells the script why not, in a sentence for the reader.
func (a *Accounts) deny(w http.ResponseWriter, r *http.Request, status int, text string) {
	reply(w, status, map[string]string{"fault": a.Kit.T(r)(text)})
}

const notRead = "The passkey could not be read. Try again, or use your password."

// passkeyAsk begins a sign-in by passkey: the browser finds out which.
func (a *Accounts) passkeyAsk(w http.ResponseWriter, r *http.Request) {
	rp := a.relyingParty(r)
	if rp == nil {
		a.deny(w, r, http.StatusNotFound, "There are no passkeys at this address.")
		return
	}
	key := "passkey " + addressKey(page.Address(r.Context()))
	if wait := a.tries.take(a.Now(), limit{key, freeByAddress}); wait > 0 {
		w.Header().Set("Retry-After", fmt.Sprint(int(wait.Seconds())+1))
		a.deny(w, r, http.StatusTooManyRequests, "Too many tries. Wait a few minutes, then try again.")
		return
	}
	options, session, err := rp.BeginDiscoverableLogin(webauthn.WithUserVerification(protocol.VerificationRequired))
	if err != nil {
		a.Kit.Fail(w, r, fmt.Errorf("begin a sign-in by passkey: %w", err))
		return
	}
	reply(w, http.StatusOK, offer{a.ceremonies.keep(a.Now(), session, ""), options.Response})
}

func (a *Accounts) passkeySignIn(w http.ResponseWriter, r *http.Request) {
	rp := a.relyingParty(r)
	var got answer
	if err := json.NewDecoder(r.Body).Decode(&got); err != nil || rp == nil {
		a.deny(w, r, http.StatusBadRequest, notRead)
		return
	}
	session, ok := a.ceremonies.take(a.Now(), got.Ceremony, "")
	if !ok {
		a.deny(w, r, http.StatusConflict, "That took too long. Try again.")
		return
	}
	parsed, err := protocol.ParseCredentialRequestResponseBytes(got.Credential)
	if err != nil {
		a.deny(w, r, http.StatusBadRequest, notRead)
		return
	}
	found, broken := (*user)(nil), error(nil)
	_, credential, err := rp.ValidatePasskeyLogin(func(_, handle []byte) (webauthn.User, error) {
		found, broken = a.byHandle(r.Context(), handle)
		return found, broken
	}, *session, parsed)
	if broken != nil && !notFound(broken) {
		a.Kit.Fail(w, r, broken)
		return
	}
	if err != nil || credential.Authenticator.CloneWarning {
		a.Kit.Audit(r, "sign-in-refused", "", "passkey")
		a.deny(w, r, http.StatusUnauthorized, "This passkey does not belong to an open account here.")
		return
	}
	for i := range found.keys.Keys {
		if k := &found.keys.Keys[i]; slices.Equal(k.Credential.ID, credential.ID) {
			k.Credential = *credential // with its new count of uses
		}
	}
	if err := found.keys.into(&found.acc); err != nil {
		a.Kit.Fail(w, r, err)
		return
	}
	if _, err := a.Store.PutAccount(r.Context(), found.acc); err != nil && !errors.Is(err, store.ErrConflict) {
		a.Kit.Fail(w, r, err)
		return
	}
	a.tries.pass("passkey " + addressKey(page.Address(r.Context())))
	if err := a.begin(w, r, found.acc.Person); err != nil {
		a.Kit.Fail(w, r, err)
		return
	}
	a.audit(r, found.acc.Person, "signed-in", found.acc.Person, "passkey")
	reply(w, http.StatusOK, map[string]string{"to": localPath(got.To)})
}

// byHandle returns the open account whose passkeys carry a user handle.
func (a *Accounts) byHandle(ctx context.Context, handle []byte) (*user, error) {
	g, err := a.Store.Grant(ctx, hashOf(string(handle)))
	if err == nil && (g.Kind != handleGrant || !g.Ended.IsZero()) {
		err = fmt.Errorf("user handle: %w", store.ErrNotFound)
	}
	if err != nil {
		return nil, err
	}
	acc, err := a.Store.Account(ctx, g.Person)
	if err == nil && !acc.Closed.IsZero() {
		err = fmt.Errorf("open account of %s: %w", acc.Person, store.ErrNotFound)
	}
	if err != nil {
		return nil, err
	}
	keys, err := passkeysOf(acc)
	return &user{acc, a.nameOf(acc.Person), keys}, err
}

// passkeyOffer begins to add a passkey to one's own account.
func (a *Accounts) passkeyOffer(w http.ResponseWriter, r *http.Request) {
	u, rp, ok := a.passkeyOwner(w, r)
	if !ok {
		return
	}
	if len(u.keys.Handle) == 0 {
		u.keys.Handle = make([]byte, handleBytes)
		_, _ = rand.Read(u.keys.Handle) // never fails since Go 1.24
		err := a.Store.AddGrant(r.Context(), store.Grant{Hash: hashOf(string(u.keys.Handle)), ID: newID(), Kind: handleGrant, Person: u.acc.Person, Created: a.Now()})
		if err == nil {
			err = u.keys.into(&u.acc)
		}
		if err == nil {
			_, err = a.Store.PutAccount(r.Context(), u.acc)
		}
		if err != nil {
			a.Kit.Fail(w, r, fmt.Errorf("begin to add a passkey: %w", err))
			return
		}
	}
	var have []protocol.CredentialDescriptor
	for _, c := range u.WebAuthnCredentials() {
		have = append(have, c.Descriptor())
	}
	options, session, err := rp.BeginRegistration(u, webauthn.WithExclusions(have))
	if err != nil {
		a.Kit.Fail(w, r, fmt.Errorf("begin to add a passkey: %w", err))
		return
	}
	reply(w, http.StatusOK, offer{a.ceremonies.keep(a.Now(), session, u.acc.Person), options.Response})
}

// passkeyOwner returns whoever is signed in, where passkeys can be had.
func (a *Accounts) passkeyOwner(w http.ResponseWriter, r *http.Request) (*user, *webauthn.WebAuthn, bool) {
	who, rp := access.From(r.Context()), a.relyingParty(r)
	if who.Via != access.BySession || rp == nil {
		a.deny(w, r, http.StatusNotFound, "There are no passkeys at this address.")
		return nil, nil, false
	}
	acc, err := a.Store.Account(r.Context(), who.Person)
	u := &user{acc: acc, name: who.Name}
	if err == nil {
		u.keys, err = passkeysOf(acc)
	}
	if err != nil {
		a.Kit.Fail(w, r, err)
	}
	return u, rp, err == nil
}

// passkeysMax is how many passkeys an account may have.
const passkeysMax = 20

func (a *Accounts) passkeyAdd(w http.ResponseWriter, r *http.Request) {
	u, rp, ok := a.passkeyOwner(w, r)
	if !ok {
		return
	}
	var got answer
	if err := json.NewDecoder(r.Body).Decode(&got); err != nil {
		a.deny(w, r, http.StatusBadRequest, notRead)
		return
	}
	name := strings.Join(strings.Fields(got.Name), " ")
	switch n := utf8.RuneCountInString(name); {
	case n == 0 || n > nameMax:
		a.deny(w, r, http.StatusUnprocessableEntity, "Write which device the passkey is on: 80 characters at most.")
		return
	case len(u.keys.Keys) >= passkeysMax:
		a.deny(w, r, http.StatusUnprocessableEntity, "Twenty passkeys are enough. Remove one first.")
		return
	}
	session, ok := a.ceremonies.take(a.Now(), got.Ceremony, u.acc.Person)
	if !ok {
		a.deny(w, r, http.StatusConflict, "That took too long. Try again.")
		return
	}
	parsed, err := protocol.ParseCredentialCreationResponseBytes(got.Credential)
	if err != nil {
		a.deny(w, r, http.StatusBadRequest, notRead)
		return
	}
	credential, err := rp.CreateCredential(u, *session, parsed)
	if err != nil {
		a.deny(w, r, http.StatusUnprocessableEntity, notRead)
		return
	}
	u.keys.Keys = append(u.keys.Keys, passkey{ID: newID(), Name: name, Created: a.Now(), Credential: *credential})
	if err = u.keys.into(&u.acc); err == nil {
		_, err = a.Store.PutAccount(r.Context(), u.acc)
	}
	if err != nil {
		a.Kit.Fail(w, r, fmt.Errorf("add a passkey: %w", err))
		return
	}
	a.Kit.Audit(r, "added-passkey", u.acc.Person, name)
	reply(w, http.StatusCreated, map[string]string{"to": "/account?done=added"})
}

func (a *Accounts) passkeyRemove(w http.ResponseWriter, r *http.Request) {
	_, acc, ok := a.mine(w, r)
	if !ok {
		return
	}
	keys, err := passkeysOf(acc)
	if err != nil {
		a.Kit.Fail(w, r, err)
		return
	}
	at := slices.IndexFunc(keys.Keys, func(k passkey) bool { return k.ID == r.PathValue("id") })
	if at < 0 {
		a.Kit.NotFound(w, r, "There is no such thing in your account.")
		return
	}
	name := keys.Keys[at].Name
	keys.Keys = slices.Delete(keys.Keys, at, at+1)
	if err = keys.into(&acc); err == nil {
		_, err = a.Store.PutAccount(r.Context(), acc)
	}
	if err != nil {
		a.Kit.Fail(w, r, fmt.Errorf("remove a passkey: %w", err))
		return
	}
	a.Kit.Audit(r, "removed-passkey", acc.Person, name)
	http.Redirect(w, r, "/account?done=passkey", http.StatusSeeOther)
}
