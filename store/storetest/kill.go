package storetest

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/civil"
	"plotwarden/plan"
	"plotwarden/store"
	"plotwarden/weather"
)

// KillEnv tells the test binary that it is the process to be killed.
const KillEnv = "STORETEST_WRITER"

const (
	messagesPerRound = 3
	firstDay         = 700_000 // a civil.Date; each round has a day of its own
)

// Kill checks that a process killed at any point loses nothing it acknowledged
// and leaves nothing half-written. It starts the test binary anew, with -test.run
// set to the name of the test that calls it, as a writer; kills it with SIGKILL
// after a random while; opens the store and looks; and does so kills times over
// the same store. open must open the same place in both processes.
func Kill(t *testing.T, kills int, place string, open func(place string) (Store, error)) {
	if p := os.Getenv(KillEnv); p != "" {
		writeForever(p, open)
	}
	random := rand.New(rand.NewPCG(1, 2))
	acked := -1
	for k := range kills {
		wait := time.Duration(random.IntN(60)) * time.Millisecond
		acked = max(acked, killWriter(t, place, wait))
		s, err := open(place)
		require.NoError(t, err, "kill %d", k)
		written := checkRounds(t, s, acked)
		require.NoError(t, s.Check(t.Context()))
		require.NoError(t, s.Close())
		require.False(t, t.Failed(), "kill %d", k)
		assert.GreaterOrEqual(t, written, acked)
	}
	require.Greater(t, acked, kills/2, "the writer hardly wrote")
	t.Logf("%d kills, %d rounds acknowledged, all there and whole", kills, acked+1)
}

// killWriter runs a writer, kills it a while after its first acknowledgement,
// and returns the last round that it acknowledged.
func killWriter(t *testing.T, place string, wait time.Duration) int {
	exe, err := os.Executable()
	require.NoError(t, err)
	cmd := exec.Command(exe, "-test.run=^"+t.Name()+"$")
	cmd.Env = append(os.Environ(), KillEnv+"="+place)
	out, err := cmd.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, cmd.Start())
	last := -1
	lines := bufio.NewScanner(out)
	for lines.Scan() {
		text, ok := strings.CutPrefix(lines.Text(), "ack ")
		if !ok {
			continue
		}
		n, err := strconv.Atoi(text)
		require.NoError(t, err)
		if last < 0 {
			time.AfterFunc(wait, func() { _ = cmd.Process.Kill() })
		}
		last = n
	}
	require.Error(t, cmd.Wait(), "the writer ends by being killed")
	require.GreaterOrEqual(t, last, 0, "the writer acknowledged nothing")
	return last
}

// writeForever goes on from the last round that is there.
func writeForever(place string, open func(string) (Store, error)) {
	ctx := context.Background()
	s, err := open(place)
	if err != nil {
		fail(err)
	}
	next := 0
	switch r, err := s.LatestRound(ctx, "north"); {
	case err == nil:
		next = int(r.Day) - firstDay + 1
	case !errors.Is(err, store.ErrNotFound):
		fail(err)
	}
	for i := next; ; i++ {
		at := t0.Add(time.Duration(i) * time.Hour)
		a := assessment("tom", at, plan.Act)
		a.Reason.Numbers[0].Value = float64(i)
		r := store.Round{Site: "north", At: at, Day: civil.Date(firstDay + i), Assessments: []plan.Assessment{a}}
		for m := range messagesPerRound {
			r.Messages = append(r.Messages, message(key(i, m), at))
		}
		// A writer before this one may have died between claim and round.
		if err := s.ClaimSlot(ctx, "round", at); err != nil && !errors.Is(err, store.ErrTaken) {
			fail(err)
		}
		if err := errors.Join(s.SaveWeather(ctx, "north", series(at, 24, constant(float64(i)), weather.Analysis, at)), s.SaveRound(ctx, r)); err != nil {
			fail(err)
		}
		fmt.Println("ack", i)
	}
}

func fail(err error) {
	fmt.Fprintln(os.Stderr, err)
	os.Exit(3)
}

func key(round, m int) string { return fmt.Sprintf("round/%06d/%d", round, m) }

// checkRounds looks at every round up to the newest that left a trace, and
// returns that one.
func checkRounds(t *testing.T, s Store, acked int) int {
	ctx := t.Context()
	past, err := s.AssessmentHistory(ctx, "north", "", 0, 0)
	require.NoError(t, err)
	newest := len(past) - 1
	latest, err := s.LatestRound(ctx, "north")
	require.NoError(t, err)
	assert.Equal(t, newest, int(latest.Day)-firstDay, "latest round and history belong together")
	for i, a := range past {
		assert.Equal(t, float64(i), a.Reason.Numbers[0].Value, "a round is missing")
	}
	all, err := s.Due(ctx, t0.Add(1e6*time.Hour), 1_000_000)
	require.NoError(t, err)
	assert.Len(t, all, (newest+1)*messagesPerRound, "messages come with their assessments or not at all")
	for i, d := range all {
		assert.Equal(t, key(i/messagesPerRound, i%messagesPerRound), d.Key)
		assert.Equal(t, "body of "+d.Key, string(d.Body))
	}
	w, err := s.LoadWeather(ctx, "north", t0, t0.Add(time.Duration(newest+1)*time.Hour))
	require.NoError(t, err)
	for i := range w.Len() {
		// A later round that died after its weather may have written over it.
		assert.GreaterOrEqual(t, w.Value(weather.Temp, i), float64(min(i, acked))-23)
		assert.False(t, w.Value(weather.Temp, i) != w.Value(weather.Temp, i), "hour %d is missing", i)
	}
	for i := range acked + 1 {
		assert.ErrorIs(t, s.ClaimSlot(ctx, "round", t0.Add(time.Duration(i)*time.Hour)), store.ErrTaken)
	}
	return newest
}
