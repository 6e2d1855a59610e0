// Package access says who may see and do what. Pure: who it is comes in with the
// request, what they ask for as plain types.
package access

import (
	"context"
	"fmt"
	"slices"

	"plotwarden/garden"
)

// Role is what a person is on this installation.
type Role string

// The roles, from the one that may most.
const (
	Owner     Role = "owner"     // everything, people and settings too
	Volunteer Role = "volunteer" // looks after regions: their sites, their tunings, their newsletter
	Grower    Role = "grower"    // sees and logs on the own ground, changes the own beds
	Reader    Role = "reader"    // sees the own ground
	Nobody    Role = ""          // not signed in
)

// Roles returns the roles that an account can have.
func Roles() []Role { return []Role{Owner, Volunteer, Grower, Reader} }

// UnmarshalText reads one of the roles.
func (r *Role) UnmarshalText(b []byte) error {
	if !slices.Contains(Roles(), Role(b)) {
		return fmt.Errorf("%q is not one of: owner, volunteer, grower, reader", b)
	}
	*r = Role(b)
	return nil
}

// Ways in.
const (
	BySession = "session" // a browser that signed in
	ByToken   = "token"   // a program with a person's token
	ByShare   = "share"   // a link to one site, read only
	ByOpen    = "open"    // an installation that asks nobody: the demonstration, or before there is an account
)

// Who is whoever makes a request. The zero value is nobody and may nothing.
type Who struct {
	Person string // id of a garden.Person; empty behind a shared link
	Name   string
	Role   Role
	Via    string
	// Grant is the id of the session, token or share in use; safe to show.
	Grant string
	// Check is the secret that a form must send back; empty where no form may be sent.
	Check string
	// ReadOnly takes away all that changes something, whatever the role.
	ReadOnly bool

	sites map[string]bool // nil for an owner, who has all
	tends map[string]bool // "site/plot" that the person tends, and plantingKey of what grows there
	looks map[string]bool // regions of a volunteer
}

// Of returns who a person is: their sites, those of the regions that they look
// after, and the plots that they tend. Only a volunteer's regions count. Who asks
// often makes an Index first.
func Of(g *garden.Garden, person string, role Role) Who { return NewIndex(g).Of(person, role) }

// OfShare returns the reader behind a shared link to one site.
func OfShare(site, grant string) Who {
	return Who{Role: Reader, Via: ByShare, Grant: grant, ReadOnly: true, sites: map[string]bool{site: true}}
}

// Open returns whoever uses an installation that asks nobody. readOnly is for
// one that has no owner yet; the demonstration lets everybody do everything.
func Open(readOnly bool) Who { return Who{Role: Owner, Via: ByOpen, ReadOnly: readOnly} }

// SignedIn says whether somebody is known, or nobody is asked.
func (w Who) SignedIn() bool { return w.Role != Nobody }

// See says whether the pages of a site may be read.
func (w Who) See(site string) bool { return w.Role == Owner || w.Role != Nobody && w.sites[site] }

// Log says whether what was seen or done on a site may be logged.
func (w Who) Log(site string) bool {
	return !w.ReadOnly && w.Role != Reader && w.See(site)
}

// Change says whether a plot's plantings may be changed; with an empty plot, the
// site itself. A grower changes the plots that they tend.
func (w Who) Change(site, plot string) bool {
	switch {
	case w.ReadOnly || !w.See(site):
		return false
	case w.Role == Owner || w.Role == Volunteer:
		return true
	}
	return w.Role == Grower && plot != "" && w.tends[site+"/"+plot]
}

// Tune says whether the numbers of a region may be changed and its bench be used.
func (w Who) Tune(region string) bool {
	return !w.ReadOnly && (w.Role == Owner || w.Role == Volunteer && w.looks[region])
}

// SeeRegion says whether the bench of a region may be read.
func (w Who) SeeRegion(region string) bool {
	return w.Role == Owner || w.Role == Volunteer && w.looks[region]
}

// Manage says whether people, accounts and settings may be changed.
func (w Who) Manage() bool { return !w.ReadOnly && w.Role == Owner }

// Sites returns the sites that may be seen, in the garden's order. The sites
// themselves are shared and must not be changed.
func (w Who) Sites(g *garden.Garden) []*garden.Site {
	var out []*garden.Site
	for i := range g.Sites {
		if w.See(g.Sites[i].ID) {
			out = append(out, &g.Sites[i])
		}
	}
	return out
}

type key struct{}

// With returns a context that carries who makes the request.
func With(ctx context.Context, w Who) context.Context { return context.WithValue(ctx, key{}, w) }

// From returns who makes the request; nobody when nothing was said.
func From(ctx context.Context) Who {
	w, _ := ctx.Value(key{}).(Who)
	return w
}
