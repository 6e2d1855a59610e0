package account

import (
	"context"
	"crypto/subtle"
	"errors"
	"fmt"
	"net/http"
	"strings"
	"unicode/utf8"

	"plotwarden/access"
	"plotwarden/garden"
	"plotwarden/store"
	"plotwarden/web/page"
)

// OwnerPath is where the first owner is made.
const OwnerPath = "/setup/owner"

// Code is what whoever started the program types to become its owner; empty when
// there is an owner, or nobody is asked.
func (a *Accounts) Code() string {
	if a.Demo || a.any.Load() {
		return ""
	}
	return a.code
}

// newAccount is a form by which somebody makes their account.
type newAccount struct {
	Fields []page.Field
	Faults []page.Field
	To     string // where the form goes
	Reset  bool   // only the password is new
	Name   string
	Role   string
	Until  string
}

// typed is what somebody wrote into it.
type typed struct{ code, name, login, password, again string }

func typedIn(r *http.Request) typed {
	v := r.PostFormValue
	return typed{
		code: strings.ToUpper(strings.TrimSpace(v("code"))), name: strings.Join(strings.Fields(v("name")), " "),
		login: tidyLogin(v("login")), password: v("password"), again: v("again"),
	}
}

const nameMax = 80

// fields draws the form. With faults set, it says what is wrong.
func (x *typed) fields(t func(string, ...any) string, with ...string) []page.Field {
	all := map[string]page.Field{
		"code":     {Name: "code", Label: t("Set-up code"), Value: x.code, Hint: t("Whoever started the program finds it in its log: three groups of four characters."), Required: true, Max: 20},
		"name":     {Name: "name", Label: t("Your name"), Value: x.name, Hint: t("As others on the ground know you."), Complete: "name", Required: true, Max: nameMax},
		"login":    {Name: "login", Label: t("Sign-in name"), Value: x.login, Hint: t("Small letters and digits, or an e-mail address."), Complete: "username", Required: true, Max: loginMax},
		"password": {Name: "password", Label: t("Password"), Type: "password", Hint: t("15 characters or more. Four words in a row are easy to keep in mind."), Complete: "new-password", Required: true, Max: PasswordMax},
		"again":    {Name: "again", Label: t("The same password again"), Type: "password", Complete: "new-password", Required: true, Max: PasswordMax},
	}
	var out []page.Field
	for _, name := range with {
		out = append(out, all[name])
	}
	return out
}

// check puts what is wrong with the fields beside them, and says whether all is
// well.
func (x *typed) check(t func(string, ...any) string, fields []page.Field) bool {
	ok := true
	for i := range fields {
		fault := ""
		switch fields[i].Name {
		case "name":
			if n := utf8.RuneCountInString(x.name); n == 0 {
				fault = t("Write your name.")
			} else if n > nameMax || !utf8.ValidString(x.name) {
				fault = t("Write a shorter name: 80 characters at most.")
			}
		case "login":
			fault = say(t, loginFault(x.login))
		case "password":
			fault = say(t, passwordFault(x.password, x.login, x.name))
		case "again":
			if x.again != x.password {
				fault = t("It is not the same as the first. Type both again.")
			}
		}
		if fault != "" {
			fields[i].Fault, ok = fault, false
		}
	}
	return ok
}

func say(t func(string, ...any) string, text string) string {
	if text == "" {
		return ""
	}
	return t(text)
}

var ownerFields = []string{"code", "name", "login", "password", "again"}

func (a *Accounts) ownerPage(w http.ResponseWriter, r *http.Request) {
	if a.firstOwner(w, r) {
		x := typed{code: strings.ToUpper(r.URL.Query().Get("code"))}
		a.showOwner(w, r, http.StatusOK, x.fields(a.Kit.T(r), ownerFields...))
	}
}

// firstOwner answers when there is an account already, and says whether there is
// none.
func (a *Accounts) firstOwner(w http.ResponseWriter, r *http.Request) bool {
	switch has, err := a.exists(r.Context()); {
	case err != nil:
		a.Kit.Fail(w, r, err)
	case has || a.Demo:
		http.Redirect(w, r, "/", http.StatusSeeOther)
	default:
		return true
	}
	return false
}

func (a *Accounts) showOwner(w http.ResponseWriter, r *http.Request, status int, fields []page.Field) {
	w.Header().Set("Cache-Control", "no-store")
	a.pages.Show(w, r, status, "owner", page.Frame{Title: a.Kit.T(r)("Make the first owner"), Here: "sign-in", Body: newAccount{Fields: fields, Faults: page.Faults(fields...)}})
}

func (a *Accounts) makeOwner(w http.ResponseWriter, r *http.Request) {
	if !a.Kit.ReadForm(w, r) || !a.firstOwner(w, r) {
		return
	}
	t, x := a.Kit.T(r), typedIn(r)
	fields, key := x.fields(t, ownerFields...), "set-up "+addressKey(page.Address(r.Context()))
	if wait := a.tries.take(a.Now(), limit{key, freeByLogin}); wait > 0 {
		w.Header().Set("Retry-After", fmt.Sprint(int(wait.Seconds())+1))
		fields[0].Fault = t("Too many tries. Wait %d seconds, then try again.", int(wait.Seconds())+1)
		a.showOwner(w, r, http.StatusTooManyRequests, fields)
		return
	}
	right := subtle.ConstantTimeCompare([]byte(x.code), []byte(a.code)) == 1
	if ok := x.check(t, fields); !right || !ok {
		if !right {
			a.Kit.Audit(r, "set-up-refused", "", "code")
			fields[0].Fault = t("This is not the code of the program that runs now. It changes with each start.")
		} else {
			a.tries.pass(key)
		}
		a.showOwner(w, r, http.StatusUnprocessableEntity, fields)
		return
	}
	a.tries.pass(key)
	a.setup.Lock() // two who know the code, at once: one becomes the owner
	defer a.setup.Unlock()
	if !a.firstOwner(w, r) {
		return
	}
	person, err := a.admitPerson(r.Context(), "", x, string(access.Owner), nil)
	if err != nil {
		a.Kit.Fail(w, r, fmt.Errorf("make the first owner: %w", err))
		return
	}
	a.any.Store(true)
	a.audit(r, person, "made-account", person, string(access.Owner))
	to := a.Setup
	if to == "" {
		to = "/"
	}
	a.finish(w, r, person, "set-up", to)
}

// admitPerson makes an account, and the person where the ground has none of that
// id. An empty id takes one from the name.
func (a *Accounts) admitPerson(ctx context.Context, id string, x typed, role string, sites []string) (string, error) {
	hashed, err := a.passwords.hash(ctx, x.password)
	if err != nil {
		return "", err
	}
	if id == "" {
		if id, err = a.freeID(ctx, x.name); err != nil {
			return "", err
		}
	}
	if a.NewPerson != nil && a.person(id) == nil {
		if err := a.NewPerson(ctx, garden.Person{ID: id, Name: x.name, Sites: sites}); err != nil {
			return "", fmt.Errorf("add %s to the people: %w", id, err)
		}
	}
	_, err = a.Store.PutAccount(ctx, store.Account{Person: id, Login: x.login, Role: role, Password: hashed, Created: a.Now()})
	return id, err
}

func taken(err error) bool { return errors.Is(err, store.ErrTaken) }

// person returns a person of the ground, or nil.
func (a *Accounts) person(id string) *garden.Person {
	if g := a.Garden(); g != nil {
		for i := range g.People {
			if g.People[i].ID == id {
				return &g.People[i]
			}
		}
	}
	return nil
}

// freeID makes an id of a name that no person and no account has.
func (a *Accounts) freeID(ctx context.Context, name string) (string, error) {
	stem := slug(name)
	for n := 1; ; n++ {
		id := stem
		if n > 1 {
			id = fmt.Sprintf("%s-%d", stem, n)
		}
		_, err := a.Store.Account(ctx, id)
		if err != nil && !notFound(err) {
			return "", err
		}
		if notFound(err) && a.person(id) == nil {
			return id, nil
		}
	}
}
