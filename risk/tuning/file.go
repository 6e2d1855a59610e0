package tuning

import (
	"bytes"
	"crypto/ed25519"
	"encoding/base64"
	"errors"
	"fmt"
	"io"
	"strings"

	"go.yaml.in/yaml/v3"

	"plotwarden/civil"
	"plotwarden/strict"
)

// Format is the number of the file's form.
const Format = 1

// File is a region's changes as they travel: a text that people can read, signed
// by who stands for it.
type File struct {
	Format  int      `yaml:"format"`
	Region  string   `yaml:"region"`
	Tunings []Tuning `yaml:"tunings"`
	Signer  string   `yaml:"signer,omitempty"`    // who signed, in their own words
	Key     string   `yaml:"key,omitempty"`       // ed25519 public key, base64
	Sig     string   `yaml:"signature,omitempty"` // over everything else, base64
}

// The causes for which a file is not taken.
var (
	ErrUnsigned = errors.New("the file is not signed")
	ErrForged   = errors.New("the signature does not fit: the file was changed after it was signed")
)

const preamble = `# Numbers of published rules as a region changed them, with the published ones.
# Comments and spacing may change; a change of anything else breaks the signature.
`

// canonical is the text that is signed: the file without its signature, as this
// package writes it.
func (f *File) canonical() ([]byte, error) {
	g := *f
	g.Sig = ""
	b, err := yaml.Marshal(&g)
	if err != nil {
		return nil, fmt.Errorf("write tunings: %w", err)
	}
	return b, nil
}

// Sign signs the file.
func (f *File) Sign(signer string, key ed25519.PrivateKey) error {
	public, ok := key.Public().(ed25519.PublicKey)
	if !ok || len(key) != ed25519.PrivateKeySize {
		return errors.New("sign tunings: this is no ed25519 key")
	}
	f.Format, f.Signer, f.Key = Format, signer, base64.StdEncoding.EncodeToString(public)
	text, err := f.canonical()
	if err != nil {
		return err
	}
	f.Sig = base64.StdEncoding.EncodeToString(ed25519.Sign(key, text))
	return nil
}

// Verify checks the signature and returns the key that made it. That says only
// that whoever has the key wrote the file: whether to trust the key is the
// importer's to say, by Trusted.
func (f *File) Verify() (ed25519.PublicKey, error) {
	if f.Sig == "" || f.Key == "" {
		return nil, ErrUnsigned
	}
	key, err := base64.StdEncoding.DecodeString(f.Key)
	if err != nil || len(key) != ed25519.PublicKeySize {
		return nil, fmt.Errorf("the key of the file is no ed25519 key: %w", ErrForged)
	}
	sig, err := base64.StdEncoding.DecodeString(f.Sig)
	if err != nil {
		return nil, fmt.Errorf("the signature of the file is not base64: %w", ErrForged)
	}
	text, err := f.canonical()
	if err != nil {
		return nil, err
	}
	if !ed25519.Verify(key, text, sig) {
		return nil, ErrForged
	}
	return key, nil
}

// Trusted says whether a key is among those that the importer trusts.
func Trusted(key ed25519.PublicKey, keys []ed25519.PublicKey) bool {
	for _, k := range keys {
		if key.Equal(k) {
			return true
		}
	}
	return false
}

// Write writes the file.
func (f *File) Write(w io.Writer) error {
	b, err := yaml.Marshal(f)
	if err != nil {
		return fmt.Errorf("write tunings: %w", err)
	}
	if _, err := w.Write(append([]byte(preamble), b...)); err != nil {
		return fmt.Errorf("write tunings: %w", err)
	}
	return nil
}

// Read reads a file and checks its form, but neither its signature nor whether
// the catalogue has its models: see Verify and Apply. The error is strict.Faults.
func Read(name string, r io.Reader) (*File, error) {
	// A file that went through a mail program may have other line ends.
	text, err := io.ReadAll(io.LimitReader(r, 1<<20))
	if err != nil {
		return nil, fmt.Errorf("read %s: %w", name, err)
	}
	text = bytes.ReplaceAll(text, []byte("\r\n"), []byte("\n"))
	var f File
	w, faults := strict.Decode(name, bytes.NewReader(text), &f)
	need := func(ptr any, ok bool, format string, args ...any) {
		if !ok {
			faults = append(faults, w.Fault(ptr, format, args...))
		}
	}
	if len(faults) == 0 {
		need(&f, f.Format == Format, "format %d is not known; this program reads %d", f.Format, Format)
		need(&f, strings.TrimSpace(f.Region) != "", "region is missing: say for which region the numbers are")
	}
	for i := range f.Tunings {
		t := &f.Tunings[i]
		for _, x := range []struct{ key, value string }{{"model", t.Model}, {"published", t.Published}, {"tuned", t.Tuned}, {"who", t.Who}, {"why", t.Why}} {
			need(t, strings.TrimSpace(x.value) != "", "key %q is missing", x.key)
		}
		need(t, t.What != "", "key \"what\" is missing: stage, start or humidity")
		need(t, !t.When.IsZero(), "key \"when\" is missing")
		need(t, (t.What == StageValue) == (t.Stage != ""), "a stage is named when its total is changed, and only then")
		if t.Undone != nil {
			need(t.Undone, t.Undone.Who != "" && t.Undone.Why != "" && !t.Undone.When.IsZero(), "undone needs who, why and when")
		}
	}
	if err := faults.Err(); err != nil {
		return nil, err
	}
	return &f, nil
}

// Add appends a change. The signature no longer fits afterwards.
func (f *File) Add(t Tuning) { f.Tunings = append(f.Tunings, t); f.Sig = "" }

// Undo takes back the change in force of a number: the published one, or an
// earlier change, is in force again. It fails when there is none.
func (f *File) Undo(model string, what What, stage, who, why string, when civil.Date) error {
	if who == "" || why == "" || when.IsZero() {
		return errors.New("undo a change: it needs who, why and when")
	}
	probe := Tuning{Model: model, What: what, Stage: stage}
	for i := len(f.Tunings) - 1; i >= 0; i-- {
		if t := &f.Tunings[i]; t.Same(&probe) && t.Undone == nil {
			t.Undone = &Undone{who, why, when}
			f.Sig = ""
			return nil
		}
	}
	return fmt.Errorf("undo a change: %s of %s is not changed", words(what, stage), model)
}
