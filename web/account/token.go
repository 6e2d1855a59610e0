package account

import (
	"encoding/json"
	"fmt"
	"net/http"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"

	"plotwarden/store"
	"plotwarden/web/page"
)

// tokenBody is what a token may, beside what its person may.
type tokenBody struct {
	ReadOnly bool `json:"readOnly"`
}

// tokenPrefix lets a token be recognised where it was left by mistake.
const tokenPrefix = "plotwarden_"

// lifetimes are for how many days a token or a shared link may hold.
var lifetimes = []int{7, 30, 90, 365}

func days(t func(string, ...any) string, chosen int) []page.Choice {
	var out []page.Choice
	for _, n := range lifetimes {
		out = append(out, page.Choice{Value: strconv.Itoa(n), Text: t("%d days", n), Chosen: n == chosen})
	}
	return out
}

// readDays returns the number of days of a form, or what is wrong with it.
func readDays(r *http.Request) (int, string) {
	n, err := strconv.Atoi(r.PostFormValue("days"))
	for _, ok := range lifetimes {
		if err == nil && n == ok {
			return n, ""
		}
	}
	return 0, "Choose one of the numbers of days."
}

// readName returns the name that somebody gave a thing, or what is wrong with it.
func readName(r *http.Request) (string, string) {
	name := strings.Join(strings.Fields(r.PostFormValue("name")), " ")
	switch n := utf8.RuneCountInString(name); {
	case n == 0:
		return "", "Write what it is for, so that you know it again."
	case n > nameMax || !utf8.ValidString(name):
		return "", "Write a shorter name: 80 characters at most."
	}
	return name, ""
}

func tokenFields(t func(string, ...any) string) []page.Field {
	return []page.Field{
		{Name: "name", Label: t("What the token is for"), Hint: t("As you will know it again: a script, a display."), Required: true, Max: nameMax},
		{Name: "days", Label: t("How long it holds"), Type: "select", Choices: days(t, 90)},
	}
}

func (a *Accounts) makeToken(w http.ResponseWriter, r *http.Request) {
	who, acc, ok := a.mine(w, r)
	if !ok {
		return
	}
	t := a.Kit.T(r)
	name, nameFault := readName(r)
	n, daysFault := readDays(r)
	if nameFault != "" || daysFault != "" {
		fields := tokenFields(t)
		fields[0].Value, fields[0].Fault, fields[1].Fault = name, say(t, nameFault), say(t, daysFault)
		a.showOwn(w, r, http.StatusUnprocessableEntity, who, acc, passwordFields(t, acc), fields)
		return
	}
	secret, now, body := tokenPrefix+newSecret(), a.Now(), tokenBody{ReadOnly: r.PostFormValue("may") != "write"}
	raw, err := json.Marshal(body)
	if err == nil {
		err = a.Store.AddGrant(r.Context(), store.Grant{
			Hash: hashOf(secret), ID: newID(), Kind: store.TokenGrant, Person: acc.Person, Name: name, Body: raw, Created: now, Expires: now.AddDate(0, 0, n),
		})
	}
	if err != nil {
		a.Kit.Fail(w, r, fmt.Errorf("make a token: %w", err))
		return
	}
	a.Kit.Audit(r, "made-token", name, fmt.Sprintf("%d days, read only %t", n, body.ReadOnly))
	a.showLink(w, r, linkBody{
		Title: t("Your new token"), Text: t("Copy it now: it is shown this once. A program sends it in the header Authorization: Bearer, with all requests to /api/v1."),
		Secret: secret, Until: now.AddDate(0, 0, n).UTC().Format(time.DateOnly), Back: "/account", BackText: t("To your account"),
	}, "account")
}

func (a *Accounts) endToken(w http.ResponseWriter, r *http.Request) {
	a.endOwn(w, r, store.TokenGrant, "ended-token", "token")
}

// linkBody is a secret that is shown once.
type linkBody struct {
	Title, Text, Secret, Until string
	Back, BackText             string
}

func (a *Accounts) showLink(w http.ResponseWriter, r *http.Request, body linkBody, here string) {
	w.Header().Set("Cache-Control", "no-store")
	a.pages.Show(w, r, http.StatusOK, "link", page.Frame{Title: body.Title, Here: here, Body: body})
}

// link is an address as it is handed on.
func (a *Accounts) link(r *http.Request, path string) string {
	if base := a.base(); base != "" {
		return base + path
	}
	scheme := "http://"
	if callerOf(r.Context()).secure {
		scheme = "https://"
	}
	return scheme + r.Host + path
}
