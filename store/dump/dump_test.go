package dump

import (
	"bytes"
	"compress/gzip"
	"context"
	"encoding/json"
	"io"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/store/engine"
	"plotwarden/store/pgtest"
	"plotwarden/store/postgres"
	"plotwarden/store/sqlite"
	"plotwarden/store/storetest"
)

func TestMain(m *testing.M) { pgtest.Main(m) }

var made = time.Date(2026, 6, 4, 10, 0, 0, 0, time.UTC)

func onDisk(t testing.TB) engine.Full {
	s, err := sqlite.Open(t.Context(), filepath.Join(t.TempDir(), "plot.db"))
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, s.Close()) })
	return s
}

func onServer(t testing.TB) engine.Full {
	s, err := postgres.Open(t.Context(), pgtest.New(t), postgres.Options{})
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, s.Close()) })
	return s
}

var engines = map[string]func(testing.TB) engine.Full{"sqlite": onDisk, "postgres": onServer}

func TestMoveBetweenEngines(t *testing.T) {
	for from, a := range engines {
		for to, b := range engines {
			t.Run(from+" to "+to, func(t *testing.T) {
				source, target := a(t), b(t)
				storetest.Fill(t, source)
				sum, err := Move(t.Context(), source, target)
				require.NoError(t, err)
				for _, x := range engine.Tables {
					if x.Name != "set_aside" {
						assert.NotZero(t, sum[x.Name].Rows, x.Name)
					}
				}
				want, err := Summarise(t.Context(), source)
				require.NoError(t, err)
				assert.Equal(t, want, sum)
				storetest.KeepsOn(t, target)
				_, err = Move(t.Context(), source, target)
				assert.ErrorIs(t, err, engine.ErrNotEmpty)
			})
		}
	}
}

func TestBackupComesBackWhole(t *testing.T) {
	for name, a := range engines {
		t.Run(name, func(t *testing.T) {
			ctx := t.Context()
			source := a(t)
			storetest.Fill(t, source)
			var file bytes.Buffer
			want, err := Write(ctx, &file, source, made, "test")
			require.NoError(t, err)
			seen, err := Verify(bytes.NewReader(file.Bytes()))
			require.NoError(t, err)
			assert.Equal(t, want, seen)
			for other, b := range engines {
				target := b(t)
				got, err := Read(ctx, bytes.NewReader(file.Bytes()), target, false)
				require.NoError(t, err, other)
				assert.Empty(t, want.Diff(got))
				stored, err := Summarise(ctx, target)
				require.NoError(t, err)
				assert.Equal(t, want, stored, other)
				var again bytes.Buffer
				_, err = Write(ctx, &again, target, made, "test")
				require.NoError(t, err)
				assert.Equal(t, file.Bytes(), again.Bytes(), "a backup of what was restored is the same file")

				storetest.KeepsOn(t, target)
				_, err = Read(ctx, bytes.NewReader(file.Bytes()), target, false)
				assert.ErrorIs(t, err, engine.ErrNotEmpty)
				_, err = Read(ctx, bytes.NewReader(file.Bytes()), target, true)
				require.NoError(t, err)
				stored, err = Summarise(ctx, target)
				require.NoError(t, err)
				assert.Equal(t, want, stored, "what was there before is gone")
				storetest.KeepsOn(t, target)
			}
		})
	}
}

// While others write, a backup is of one moment: each round has its message.
func TestBackupWhileOthersWrite(t *testing.T) {
	for name, a := range engines {
		t.Run(name, func(t *testing.T) {
			s := a(t)
			ctx, stop := context.WithCancel(t.Context())
			var wg sync.WaitGroup
			wg.Go(func() { storetest.WriteRounds(ctx, t, s) })
			for range 5 {
				var file bytes.Buffer
				_, err := Write(t.Context(), &file, s, made, "test")
				require.NoError(t, err)
				target := onDisk(t)
				_, err = Read(t.Context(), &file, target, false)
				require.NoError(t, err)
				storetest.RoundsAreWhole(t, target)
			}
			stop()
			wg.Wait()
		})
	}
}

func lines(t *testing.T, file []byte) []string {
	z, err := gzip.NewReader(bytes.NewReader(file))
	require.NoError(t, err)
	b, err := io.ReadAll(z)
	require.NoError(t, err)
	return strings.SplitAfter(strings.TrimSuffix(string(b), "\n"), "\n")
}

func packed(t *testing.T, lines []string) []byte {
	var b bytes.Buffer
	z := gzip.NewWriter(&b)
	_, err := z.Write([]byte(strings.Join(lines, "")))
	require.NoError(t, err)
	require.NoError(t, z.Close())
	return b.Bytes()
}

func TestAFileThatIsNotWholeChangesNothing(t *testing.T) {
	source, target := onDisk(t), onDisk(t)
	storetest.Fill(t, source)
	storetest.Fill(t, target)
	before, err := Summarise(t.Context(), target)
	require.NoError(t, err)
	var file bytes.Buffer
	_, err = Write(t.Context(), &file, source, made, "test")
	require.NoError(t, err)
	all := lines(t, file.Bytes())
	edit := func(change func([]string) []string) []byte { return packed(t, change(append([]string(nil), all...))) }
	for says, broken := range map[string][]byte{
		"unexpected EOF":              file.Bytes()[:file.Len()/2],
		"after line":                  edit(func(l []string) []string { return l[:len(l)-1] }),
		"not those that were written": edit(func(l []string) []string { return append(l[:5], l[6:]...) }),
		"neither a row":               edit(func(l []string) []string { l[3] = "{}\n"; return l }),
		"not the head":                edit(func(l []string) []string { return l[1:] }),
		"something follows":           edit(func(l []string) []string { return append(l, "\n[]\n") }),
		"gzip: invalid header":        []byte("a text that is long enough"),
		"EOF":                         {},
		"does not have so":            edit(func(l []string) []string { l[2] = "[\"weather\",1]\n"; return l }),
		`no table "other"`:            edit(func(l []string) []string { l[0] = strings.Replace(l[0], `"kept"`, `"other"`, 1); return l }),
		`no column "later"`:           edit(func(l []string) []string { l[0] = strings.Replace(l[0], `"elevation"`, `"later"`, 1); return l }),
		"it has form 9":               edit(func(l []string) []string { l[0] = strings.Replace(l[0], `Backup":1`, `Backup":9`, 1); return l }),
		"column chunk: json: cannot":  edit(func(l []string) []string { l[1] = strings.Replace(l[1], `"Zed",`, `"Zed",1.5`, 1); return l }),
		"kept has 2 rows": edit(func(l []string) []string {
			for i := range l {
				l[i] = strings.Replace(l[i], `["kept","secret"`, `["kept","secreT"`, 1)
			}
			return l
		}),
	} {
		_, err := Verify(bytes.NewReader(broken))
		require.ErrorIs(t, err, ErrBroken, says)
		assert.ErrorContains(t, err, says)
		_, err = Read(t.Context(), bytes.NewReader(broken), target, true)
		require.ErrorIs(t, err, ErrBroken, says)
		after, err := Summarise(t.Context(), target)
		require.NoError(t, err)
		require.Equal(t, before, after, says)
	}
}

// A backup of an older layout lacks columns and tables; they come up as the
// migration would leave them.
func TestABackupOfAnOlderLayout(t *testing.T) {
	source := onDisk(t)
	storetest.Fill(t, source)
	var file bytes.Buffer
	_, err := Write(t.Context(), &file, source, made, "test")
	require.NoError(t, err)
	l := lines(t, file.Bytes())
	l[0] = strings.Replace(l[0], `,"elevation"`, "", 1)
	sum := newSummer()
	for i := range l[1 : len(l)-1] {
		if s := l[i+1]; strings.HasPrefix(s, `["sources"`) {
			l[i+1] = s[:strings.LastIndex(s, ",")] + "]\n"
		}
		name, _, _ := strings.Cut(l[i+1][2:], `"`)
		sum.line(name, []byte(l[i+1]))
	}
	l[len(l)-1] = "{\"end\":" + marshal(t, sum.summary()) + "}\n"
	target := onDisk(t)
	_, err = Read(t.Context(), bytes.NewReader(packed(t, l)), target, false)
	require.NoError(t, err)
	list, err := target.Sources(t.Context(), "north")
	require.NoError(t, err)
	require.Len(t, list, 2)
	assert.Nil(t, list[0].Elevation)
	assert.Equal(t, "http-429", list[1].Cause)
}

func FuzzVerify(f *testing.F) {
	var b bytes.Buffer
	z := gzip.NewWriter(&b)
	_, _ = z.Write([]byte(`{"plotwardenBackup":1,"tables":{"kept":["name","body"],"rejects":["value"]}}` + "\n" + `["kept","a","AAA="]` + "\n" + `["rejects","NaN"]` + "\n" + `{"end":{}}` + "\n"))
	_ = z.Close()
	f.Add(b.Bytes())
	f.Fuzz(func(t *testing.T, b []byte) {
		sum, err := Verify(bytes.NewReader(b))
		if err != nil {
			assert.ErrorIs(t, err, ErrBroken)
		} else {
			assert.NotNil(t, sum)
		}
	})
}

func marshal(t *testing.T, v any) string {
	b, err := json.Marshal(v)
	require.NoError(t, err)
	return string(b)
}
