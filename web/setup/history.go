package setup

import (
	"context"
	"fmt"
	"net/http"
	"strconv"

	"plotwarden/access"
	"plotwarden/garden"
	"plotwarden/ground"
	"plotwarden/store"
	"plotwarden/web/view"
)

// earlier is a version in words.
type earlier struct {
	store.Thing
	text string
}

// kept is one kind of thing as its history needs it.
type kept struct {
	versions func(ctx context.Context, id string) ([]earlier, error)
	restore  func(ctx context.Context, by ground.By, id string, rev int64) error
	at       func(id string) string
}

func keptOf[T any](k *ground.Kept[T], at func(string) string, words func(*T) string) kept {
	return kept{
		at: at, restore: k.Restore,
		versions: func(ctx context.Context, id string) ([]earlier, error) {
			list, err := k.Versions(ctx, id)
			out := make([]earlier, len(list))
			for i, v := range list {
				out[i].Thing = v.Thing
				if v.Value != nil {
					out[i].text = words(v.Value)
				}
			}
			return out, err
		},
	}
}

func (s *server) kind(t func(string, ...any) string, name string) (kept, bool) {
	switch name {
	case store.SiteThing:
		return keptOf(s.Ground.Sites, siteAt, func(x *garden.Site) string {
			growing, ended := 0, 0
			for i := range x.Plots {
				for j := range x.Plots[i].Plantings {
					if x.Plots[i].Plantings[j].Removed.IsZero() {
						growing++
					} else {
						ended++
					}
				}
			}
			return t("%s: %d beds, %d plantings growing, %d ended", siteName(x), len(x.Plots), growing, ended)
		}), true
	case store.PersonThing:
		return keptOf(s.Ground.People, personAt, func(x *garden.Person) string { return personName(x) + " " + x.Email }), true
	case store.RegionThing:
		return keptOf(s.Ground.Regions, regionAt, func(x *garden.Region) string { return regionName(x) }), true
	case store.MaterialThing:
		return keptOf(s.Ground.Materials, materialAt, func(x *garden.Material) string { return x.Label() }), true
	}
	return kept{}, false
}

// mayLookBack says whether the history of a thing is for the reader.
func (s *server) mayLookBack(w http.ResponseWriter, r *http.Request) (kept, string, bool) {
	name, id := r.PathValue("kind"), r.PathValue("id")
	k, ok := s.kind(s.Kit.T(r), name)
	if !ok || !(access.From(r.Context()).Manage() || name == store.SiteThing && access.From(r.Context()).Change(id, "")) {
		s.Kit.NotFound(w, r, "There is no such page.")
		return kept{}, "", false
	}
	return k, id, true
}

func (s *server) historyPage(w http.ResponseWriter, r *http.Request) {
	k, id, ok := s.mayLookBack(w, r)
	if !ok {
		return
	}
	list, err := k.versions(r.Context(), id)
	if err != nil {
		s.fail(w, r, err)
		return
	}
	if len(list) == 0 {
		s.Kit.NotFound(w, r, "There is no such thing here.")
		return
	}
	t := s.Kit.T(r)
	v := View{Back: s.back(t), Title: t("Earlier versions"), Done: words(t, r), Lead: t("Nothing that was changed is lost. The newest stands first; bringing one back makes it the newest.")}
	last := list[len(list)-1]
	if !last.Deleted {
		v.Back = &view.Link{Text: t("Back to it"), Href: k.at(id)}
	}
	l := List{Title: id}
	for i := len(list) - 1; i >= 0; i-- {
		x := list[i]
		row := Row{Text: x.text, Sub: t("%s, by %s", x.At.UTC().Format("2 Jan 2006, 15:04 UTC"), s.whoIs(t, x.By))}
		if x.Why != "" {
			row.Sub += ": " + x.Why
		}
		switch {
		case x.Deleted:
			row.Text = t("Removed")
		case row.Text == "":
			row.Text = t("A version that cannot be read")
		}
		if i < len(list)-1 && !x.Deleted && x.text != "" {
			row.Acts = []Act{{Text: t("Bring back"), About: row.Sub, Action: historyAt(r.PathValue("kind"), id), Hidden: [][2]string{{"rev", fmt.Sprint(x.Rev)}}}}
		}
		if i == len(list)-1 {
			row.Text = t("Now: %s", row.Text)
		}
		l.Rows = append(l.Rows, row)
	}
	v.Lists = []List{l}
	s.show(w, r, http.StatusOK, v)
}

func (s *server) whoIs(t func(string, ...any) string, id string) string {
	if p := s.Ground.Now().Person(id); p != nil {
		return personName(p)
	}
	if id == "" {
		return t("somebody")
	}
	return id
}

func (s *server) restore(w http.ResponseWriter, r *http.Request) {
	k, id, ok := s.mayLookBack(w, r)
	if !ok {
		return
	}
	rev, err := strconv.ParseInt(r.PostFormValue("rev"), 10, 64)
	if err != nil || rev <= 0 {
		s.Kit.NotFound(w, r, "There is no such version.")
		return
	}
	err = k.restore(r.Context(), s.by(r, fmt.Sprintf("brought back version %d", rev)), id, rev)
	f := sentBy(r)
	if f.refused(err, "", nil) {
		v := View{Back: s.back(s.Kit.T(r)), Title: s.Kit.T(r)("It cannot be brought back as it was")}
		for _, x := range f.faults {
			v.Warn = append(v.Warn, x+".")
		}
		s.show(w, r, http.StatusUnprocessableEntity, v)
		return
	}
	if err != nil {
		s.fail(w, r, err)
		return
	}
	s.Kit.Audit(r, "restored", r.PathValue("kind")+" "+id, fmt.Sprint(rev))
	s.done(w, r, k.at(id), "restored")
}
