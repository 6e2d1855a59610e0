package demo

import (
	"bytes"
	"context"
	"io"
	"log/slog"
	"net/http"
	"net/mail"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"
	_ "time/tzdata"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/civil"
	"plotwarden/risk/catalog"
	"plotwarden/weather"
)

type screen struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (s *screen) Write(p []byte) (int, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.b.Write(p)
}

func (s *screen) String() string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.b.String()
}

// What the first command of the README promises, on days all over the year: a
// dashboard with something to act on or on its way, and the mail that says so.
func TestDemonstrationInAnySeason(t *testing.T) {
	for _, day := range []string{"2026-01-15", "2026-02-28", "2026-07-04", "2026-11-25", "2028-02-29"} {
		t.Run(day, func(t *testing.T) {
			t.Parallel()
			d, err := civil.Parse(day)
			require.NoError(t, err)
			began := time.Now()
			now := func() time.Time { return d.Slot(15, 30, time.UTC).Add(time.Since(began)) }
			var out, log screen
			dir := t.TempDir()
			ctx, stop := context.WithCancel(t.Context())
			ended := make(chan error, 1)
			go func() {
				ended <- Run(ctx, Options{Dir: dir, Listen: "127.0.0.1:0", Version: "test", Out: &out, Log: slog.New(slog.NewJSONHandler(&log, nil)), Now: now})
			}()
			mails := func() []string {
				fs, _ := filepath.Glob(filepath.Join(dir, "mail", "*.eml"))
				return fs
			}
			require.Eventually(t, func() bool { return len(mails()) == 3 }, time.Minute, 50*time.Millisecond, "a mail for each of three people; log: %s", &log)

			text := out.String()
			assert.Contains(t, text, "demonstration")
			assert.Contains(t, text, "recorded in New York")
			at := regexp.MustCompile(`http://127\.0\.0\.1:\d+/`).FindString(text)
			require.NotEmpty(t, at)
			page := get(t, at+"site/millrace")
			assert.Regexp(t, `(?i)approaching|act\b`, page)
			assert.Contains(t, page, "Demonstration")
			assert.Contains(t, page, "NOAA")
			assert.Contains(t, get(t, at+"metrics"), "plotwarden_rounds_total{result=\"ok\"} 1")
			assert.Equal(t, "well\n", get(t, at+"healthz"))
			for _, f := range mails() {
				checkMail(t, f)
			}
			for _, l := range strings.Split(strings.TrimSpace(log.String()), "\n") {
				assert.NotContains(t, l, `"level":"ERROR"`)
			}
			stop()
			select {
			case err := <-ended:
				assert.NoError(t, err, "it stops cleanly")
			case <-time.After(20 * time.Second):
				t.Error("it does not stop")
			}
		})
	}
}

func get(t *testing.T, url string) string {
	t.Helper()
	r, err := http.Get(url)
	require.NoError(t, err)
	defer r.Body.Close()
	require.Equal(t, http.StatusOK, r.StatusCode, url)
	b, err := io.ReadAll(r.Body)
	require.NoError(t, err)
	return string(b)
}

func checkMail(t *testing.T, file string) {
	t.Helper()
	raw, err := os.ReadFile(file)
	require.NoError(t, err)
	m, err := mail.ReadMessage(bytes.NewReader(raw))
	require.NoError(t, err)
	subject := m.Header.Get("Subject")
	assert.Contains(t, subject, "Millrace")
	assert.True(t, bytes.Contains(raw, []byte("demonstration")), "says that it is a demonstration")
	assert.False(t, regexp.MustCompile(`(?i)you have (?:late|early|downy|powdery|blight|mildew)`).Match(raw), "never says that it is there")
	assert.NotEmpty(t, m.Header.Get("Message-ID"))
}

func TestFolderMustBeNew(t *testing.T) {
	dir := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(dir, "x"), nil, 0o600))
	err := Run(t.Context(), Options{Dir: dir})
	assert.ErrorContains(t, err, "is not empty")
}

// The season's first of January moves with the garden, so that models count the
// same days of the record.
func TestSeasonMovesWhole(t *testing.T) {
	cat, err := catalog.Load()
	require.NoError(t, err)
	now := time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)
	cfg, hours, err := season(now, cat)
	require.NoError(t, err)
	by := civil.Of(now, cfg.Sites[0].Location()).Sub(seasonDay)
	start := cfg.Sites[0].Season().OnOrBefore(civil.Of(now, time.UTC))
	assert.Equal(t, civil.New(2015, 1, 1).AddDays(by), start)

	// The record's own warmest hour of 5 June 2015 is that of today.
	days, err := record("New York")
	require.NoError(t, err)
	zone := cfg.Sites[0].Location()
	for _, d := range days {
		if d.Date != seasonDay {
			continue
		}
		top := -99.0
		for h := range 24 {
			top = max(top, hours.Value(weather.Temp, hours.Index(d.Date.Slot(h, 0, zone).Add(time.Duration(by)*24*time.Hour))))
		}
		assert.InDelta(t, d.Max, top, 0.3)
	}
}
