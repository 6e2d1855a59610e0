package tuning

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"

	"go.yaml.in/yaml/v3"

	"plotwarden/civil"
	"plotwarden/risk"
	"plotwarden/risk/catalog"
	"plotwarden/risk/model"
)

// What is which number of a rule is changed.
type What string

// The numbers that can be changed. All others belong to the method: a rule with
// another lower threshold is another rule, and goes into the catalogue as one.
const (
	StageValue What = "stage"    // the total at which a stage is reached
	StartDay   What = "start"    // the day of the year from which the rule counts, MM-DD
	Humidity   What = "humidity" // the relative humidity, %, from which an hour counts
)

// UnmarshalText reads one of them.
func (w *What) UnmarshalText(b []byte) error {
	switch v := What(b); v {
	case StageValue, StartDay, Humidity:
		*w = v
		return nil
	}
	return fmt.Errorf("%q is not one of: stage, start, humidity", b)
}

// Value returns the number of a rule as it is written in data files.
func Value(m *catalog.Model, what What, stage string) (string, error) {
	switch what {
	case StageValue:
		for _, s := range m.Spec.Stages() {
			if s.Name == stage {
				return number(s.Value), nil
			}
		}
		return "", fmt.Errorf("model %s has no stage %q", m.ID, stage)
	case StartDay:
		if s := m.Spec.Start(); s.Kind == model.FromCalendar {
			return s.Day.String(), nil
		}
		return "", fmt.Errorf("model %s does not start on a day of the year", m.ID)
	}
	var at string
	_, err := m.Rewritten(func(n *yaml.Node) error {
		found := humidities(n)
		if len(found) == 0 {
			return errors.New("it has no limit of humidity")
		}
		at = found[0].Value
		for _, f := range found[1:] {
			if f.Value != at {
				return errors.New("it has more than one limit of humidity")
			}
		}
		return nil
	})
	return at, err
}

// changed returns the model with the number set. It fails where the kind of rule
// cannot have the number.
func changed(m *catalog.Model, what What, stage, to string) (catalog.Model, error) {
	if _, err := Value(m, what, stage); err != nil {
		return catalog.Model{}, err
	}
	return m.Rewritten(func(n *yaml.Node) error {
		return edit(n, &Tuning{What: what, Stage: stage, Tuned: to})
	})
}

// edit sets the number in a rule's parameters.
func edit(n *yaml.Node, t *Tuning) error {
	switch t.What {
	case StageValue:
		if _, err := finite(t.Tuned); err != nil {
			return err
		}
		for _, s := range child(n, "stages").Content {
			if name := child(s, "name"); name != nil && name.Value == t.Stage {
				set(child(s, "value"), t.Tuned, "!!float")
				drop(s, "through") // a region's number is one, not a range
				annotate(s, t)
			}
		}
	case StartDay:
		if _, err := civil.ParseMonthDay(t.Tuned); err != nil {
			return err
		}
		set(child(child(n, "start"), "day"), t.Tuned, "!!str")
	default:
		if v, err := finite(t.Tuned); err != nil {
			return err
		} else if v < 50 || v > 100 {
			return fmt.Errorf("a humidity of %s is not from 50 to 100 %%", t.Tuned)
		}
		for _, h := range humidities(n) {
			set(h, t.Tuned, "!!float")
		}
	}
	return nil
}

// annotate names the change as the source of a stage's number, the published one
// with it.
func annotate(stage *yaml.Node, t *Tuning) {
	if t.Who == "" {
		return
	}
	text := fmt.Sprintf("tuned by %s on %s; published: %s", t.Who, t.When, t.Published)
	if was := child(child(stage, "source"), "text"); was != nil {
		text += " (" + was.Value + ")"
	}
	var source yaml.Node
	if err := source.Encode(map[string]string{"text": text, "standing": risk.Derived.String()}); err != nil {
		panic("tuning: " + err.Error()) // a map of strings can be written
	}
	if at := child(stage, "source"); at != nil {
		*at = source
		return
	}
	stage.Content = append(stage.Content, &yaml.Node{Kind: yaml.ScalarNode, Tag: "!!str", Value: "source"}, &source)
}

func finite(s string) (float64, error) {
	v, err := strconv.ParseFloat(s, 64)
	if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
		return 0, fmt.Errorf("%q is not a number", s)
	}
	return v, nil
}

func number(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

// child returns the value of a key of a mapping, or nil.
func child(n *yaml.Node, key string) *yaml.Node {
	if n == nil || n.Kind != yaml.MappingNode {
		return nil
	}
	for i := 0; i+1 < len(n.Content); i += 2 {
		if n.Content[i].Value == key {
			return n.Content[i+1]
		}
	}
	return nil
}

// drop takes a key out of a mapping.
func drop(n *yaml.Node, key string) {
	for i := 0; i+1 < len(n.Content); i += 2 {
		if n.Content[i].Value == key {
			n.Content = append(n.Content[:i], n.Content[i+2:]...)
			return
		}
	}
}

func set(n *yaml.Node, to, tag string) {
	n.Value, n.Tag, n.Style = to, tag, 0
}

// humidities returns the limits of humidity of a rule: those by which hours
// count, wherever in the rule.
func humidities(n *yaml.Node) []*yaml.Node {
	var out []*yaml.Node
	if n.Kind == yaml.MappingNode {
		for i := 0; i+1 < len(n.Content); i += 2 {
			key, v := n.Content[i].Value, n.Content[i+1]
			if key == "hours" && v.Kind == yaml.MappingNode {
				if h := child(v, "humidity"); h != nil {
					out = append(out, h)
				}
				if h := child(child(v, "wetness"), "threshold"); h != nil {
					out = append(out, h)
				}
				continue
			}
			out = append(out, humidities(v)...)
		}
	}
	if n.Kind == yaml.SequenceNode {
		for _, c := range n.Content {
			out = append(out, humidities(c)...)
		}
	}
	return out
}

// words says what a change is about, as in a sentence.
func words(what What, stage string) string {
	switch what {
	case StageValue:
		return strings.TrimSpace(stage)
	case StartDay:
		return "the day from which it counts"
	}
	return "the humidity from which an hour counts"
}
