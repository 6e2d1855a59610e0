package engine

import (
	"errors"
	"fmt"
)

// ErrNotEmpty says that a store has rows where none may be.
var ErrNotEmpty = errors.New("the store is not empty")

// Column is one column of a table. Its values are int64 for 'i', float64 for 'f',
// string for 't', []byte for 'b', and nil where Null allows it.
type Column struct {
	Name string
	Type byte
	Null bool
}

// Table is one table as all engines have it.
type Table struct {
	Name    string
	Columns []Column
	Key     int  // how many of the first columns are the key; rows are dumped in its order
	Serial  bool // the store gives the first column its numbers
}

// Tables are all tables, in an order in which rows can be put in: what others refer
// to comes first.
var Tables = []*Table{
	table("weather", 2, "site t", "chunk i", "hours b"),
	table("forecasts", 3, "site t", "source t", "issued i", "hours b"),
	table("days", 2, "site t", "year i", "days b"),
	serial("set_aside", "id i", "place t", "blob b"),
	table("rounds", 1, "site t", "at i", "day i", "body b"),
	table("history", 2, "site t", "day i", "at i", "body b"),
	table("outbox", 1, "key t", "person t", "channel t", "site t", "slot i", "body b", "told b", "state t", "attempts i", "next_at i", "last_error t", "sent_at i?"),
	table("slots", 2, "job t", "slot i"),
	table("scoutings", 1, "id t", "site t", "day i", "body t"),
	table("treatments", 1, "id t", "site t", "at i", "body t"),
	table("records", 1, "id t", "site t", "at i", "body t"),
	table("sources", 2, "site t", "source t", "last_try i", "last_good i", "last_error t", "cause t", "consecutive i", "elevation f?"),
	table("choices", 6, "person t", "site t", "kind t", "planting t", "threat t", "channel t", "at i", "until i", "seen b"),
	table("subscriptions", 2, "person t", "id t", "body b", "added i"),
	table("kept", 1, "name t", "body b"),
	table("rejects", 4, "site t", "source t", "var i", "at i", "value f", "kind i", "fault t", "reason t"),
	table("quality", 1, "site t", "at i", "body b"),
	serial("ensemble_bodies", "id i", "hash b", "body b"),
	table("ensembles", 2, "site t", "source t", "at i", "body i"),
	table("things", 1, "rev i", "kind t", "id t", "deleted i", "at i", "person t", "why t", "body b"),
	table("counters", 1, "name t", "value i"),
	table("accounts", 1, "person t", "login t", "role t", "password t", "passkeys b", "created i", "closed i", "rev i"),
	table("grants", 1, "hash t", "id t", "kind t", "person t", "site t", "name t", "body b", "created i", "seen i", "expires i", "ended i"),
	serial("audits", "id i", "at i", "person t", "address t", "did t", "object t", "detail t"),
	table("photos", 1, "id t", "site t", "person t", "at i", "type t", "width i", "height i", "body b"),
	table("tunings", 1, "id t", "region t", "at i", "person t", "undoes t", "body b"),
}

// TableNamed returns the table of a name; nil when there is none.
func TableNamed(name string) *Table {
	for _, t := range Tables {
		if t.Name == name {
			return t
		}
	}
	return nil
}

// Names are the names of the table's columns.
func (t *Table) Names() []string {
	out := make([]string, len(t.Columns))
	for i, c := range t.Columns {
		out[i] = c.Name
	}
	return out
}

func serial(name string, columns ...string) *Table {
	t := table(name, 1, columns...)
	t.Serial = true
	return t
}

func table(name string, key int, columns ...string) *Table {
	t := &Table{Name: name, Key: key}
	for _, c := range columns {
		n := len(c) - 1
		null := c[n] == '?'
		if null {
			n--
		}
		t.Columns = append(t.Columns, Column{c[:n-1], c[n], null})
	}
	return t
}

// Tidy puts the values of a row into the types of its columns. It refuses one that
// cannot be of its column's type.
func (t *Table) Tidy(row []any) error {
	if len(row) != len(t.Columns) {
		return fmt.Errorf("a row of %d values, want %d", len(row), len(t.Columns))
	}
	for i, c := range t.Columns {
		ok := row[i] == nil && c.Null
		switch v := row[i].(type) {
		case int64:
			if c.Type == 'f' { // a whole number in a column of numbers
				row[i] = float64(v)
			}
			ok = c.Type == 'i' || c.Type == 'f'
		case float64:
			ok = c.Type == 'f'
		case string:
			row[i], ok = Text(v), c.Type == 't'
		case []byte:
			if v == nil {
				row[i] = []byte{}
			}
			ok = c.Type == 'b'
		case nil:
			if c.Type == 'b' && !c.Null { // how some drivers give an empty one
				row[i], ok = []byte{}, true
			}
		}
		if !ok {
			return fmt.Errorf("column %s holds a %T", c.Name, row[i])
		}
	}
	return nil
}
