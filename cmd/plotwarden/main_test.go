package main

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"plotwarden/store/pgtest"
)

var binary string

func TestMain(m *testing.M) { os.Exit(testMain(m)) }

func testMain(m *testing.M) int {
	dir, err := os.MkdirTemp("", "plotwarden-test-")
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	defer os.RemoveAll(dir)
	defer pgtest.Stop()
	binary = filepath.Join(dir, "plotwarden")
	if out, err := exec.Command("go", "build", "-ldflags", "-X main.version=1.2.3", "-o", binary, ".").CombinedOutput(); err != nil {
		fmt.Fprintf(os.Stderr, "build: %v\n%s", err, out)
		return 1
	}
	return m.Run()
}

type result struct {
	code     int
	out, err string
}

func plotwarden(t *testing.T, stdin string, args ...string) result {
	t.Helper()
	c := exec.Command(binary, args...)
	c.Dir = "testdata"
	c.Stdin = strings.NewReader(stdin)
	var out, errs bytes.Buffer
	c.Stdout, c.Stderr = &out, &errs
	err := c.Run()
	if exit := (*exec.ExitError)(nil); err != nil && !errors.As(err, &exit) {
		require.NoError(t, err)
	}
	return result{c.ProcessState.ExitCode(), out.String(), errs.String()}
}

const days = "date,tmin,tmax\n2026-05-01,40,60\n2026-05-02,50,70\n"

func TestCommandLines(t *testing.T) {
	dd := func(more ...string) []string { return append([]string{"calc", "degreedays"}, more...) }
	hours := "time,temp_c,rh_pct,rain_mm,wind_ms\n2026-06-01T00:00Z,15,95,0,1\n2026-06-01T01:00Z,15,80,,1\n2026-06-01T02:00Z,15,80,0,1\n"
	for name, c := range map[string]struct {
		args  []string
		stdin string
		want  result
	}{
		"version": {[]string{"version"}, "", result{0, "plotwarden 1.2.3 go", ""}},
		// Triangle of 40 and 60 above 50, 2.5: computed by the four-case rule and by
		// integration. Day of 50 and 70 above 50: all of it, 10.
		"degree-days":            {dd("--method", "single-triangle", "--lower", "50", "--unit", "F", "-"), days, result{0, "date,dd,total\n2026-05-01,2.5,2.5\n2026-05-02,10,12.5\n", ""}},
		"below zero":             {dd("--method", "average", "--lower", "-2", "--unit", "C", "-"), "date,tmin,tmax\n2026-05-01,-4,6\n", result{0, "date,dd,total\n2026-05-01,3,3\n", ""}},
		"provisional":            {dd("--method", "double-sine", "--lower", "50", "--unit", "F", "-"), "date,tmin,tmax\n2026-05-01,50,70\n", result{0, "date,dd,total\n2026-05-01,10,10\n", "stdin: the value of 2026-05-01 is provisional: method double-sine needs the minimum of the day after it\n"}},
		"unknown day":            {dd("--method", "average", "--lower", "50", "--unit", "F", "-"), "date,tmin,tmax\n2026-05-01,,70\n2026-05-02,50,70\n", result{0, "date,dd,total\n2026-05-01,,0\n2026-05-02,10,10\n", "stdin: the total is incomplete from 2026-05-01 on: 1 day is unknown and counts as nothing\n"}},
		"average with cutoff":    {dd("--method", "average", "--lower", "50", "--upper", "86", "--unit", "F", "-"), days, result{2, "", "average takes no upper threshold"}},
		"upper without cutoff":   {dd("--method", "single-sine", "--lower", "50", "--upper", "86", "--unit", "F", "-"), days, result{2, "", "needs a cutoff: horizontal, intermediate, vertical or none"}},
		"upper below lower":      {dd("--method", "single-sine", "--lower", "86", "--upper", "50", "--cutoff", "horizontal", "--unit", "F", "-"), days, result{2, "", "is not below the upper threshold"}},
		"unknown method":         {dd("--method", "sine", "--lower", "50", "--unit", "F", "-"), days, result{2, "", `method "sine" is not one of: average, `}},
		"unknown unit":           {dd("--method", "single-sine", "--lower", "50", "--unit", "K", "-"), days, result{2, "", `unit "K" is not C or F`}},
		"no number":              {dd("--method", "single-sine", "--lower", "warm", "--unit", "F", "-"), days, result{2, "", "--lower"}},
		"no unit":                {dd("--method", "single-sine", "--lower", "50", "-"), days, result{2, "", "missing flags: --unit=F|C\nplotwarden help calc degreedays shows how it is used\n"}},
		"no file":                {dd("--method", "single-sine", "--lower", "50", "--unit", "F", "none.csv"), "", result{2, "", "plotwarden: open none.csv: no such file or directory\n"}},
		"bad row":                {dd("--method", "single-sine", "--lower", "50", "--unit", "F", "-"), days + "2026-05-02,1,x\n", result{2, "", "stdin:4:1: date 2026-05-02 stands twice\n"}},
		"two bad fields":         {dd("--method", "single-sine", "--lower", "50", "--unit", "F", "-"), days + "2026-05-03,y,x\n", result{2, "", "stdin:4:12: tmin: \"y\" is not a number; leave what is missing empty\nstdin:4:14: tmax: \"x\" is not a number; leave what is missing empty\n"}},
		"hourly wants hours":     {dd("--method", "hourly", "--lower", "50", "--unit", "F", "-"), days, result{2, "", "stdin:1:1: column \"date\" is not known"}},
		"zone":                   {dd("--method", "hourly", "--lower", "50", "--unit", "F", "--zone", "Mars", "-"), hours, result{2, "", `--zone: "Mars" is not an IANA time zone such as America/New_York`}},
		"wetness":                {[]string{"calc", "wetness", "--method", "humidity", "-"}, hours, result{0, "time,wet\n2026-06-01T00:00Z,1\n2026-06-01T01:00Z,\n2026-06-01T02:00Z,0\n", "stdin: of 3 hours 1 is unknown\n"}},
		"wetness without wind":   {[]string{"calc", "wetness", "--method", "humidity", "-"}, "time,temp_c,rh_pct,rain_mm\n2026-06-01T00:00Z,15,95,0\n", result{2, "", "stdin:1:1: the header lacks wind_ms; it must name the columns: time,temp_c,rh_pct,rain_mm,wind_ms\n"}},
		"wetness by day":         {[]string{"calc", "wetness", "--method", "daily-extremes", "-"}, hours, result{2, "", "not which hours they are"}},
		"unknown wetness":        {[]string{"calc", "wetness", "--method", "guess", "-"}, hours, result{2, "", `"guess" is not one of: humidity, dew-point-depression`}},
		"unknown model":          {[]string{"calc", "model", "imported-cabbageworm/delahaut-2051", "-"}, days, result{2, "", `model "imported-cabbageworm/delahaut-2051" is not known; did you mean "imported-cabbageworm/delahaut-2015"?` + "\nplotwarden models lists them\n"}},
		"model without a start":  {[]string{"calc", "model", "late-blight/hutton-2017", "-"}, "time,temp_c,rh_pct\n2026-06-01T00:00Z,15,95\n", result{2, "", "model late-blight/hutton-2017 starts when the crop goes into the ground: no start; give its date as --start YYYY-MM-DD\n"}},
		"model of hours on days": {[]string{"calc", "model", "late-blight/hutton-2017", "--start", "2026-05-01", "-"}, days, result{2, "", "stdin:1:1: the model needs humidity by the hour; give it a file of hours: time,temp_c,rh_pct\n"}},
		"start after the file":   {[]string{"calc", "model", "imported-cabbageworm/delahaut-2015", "--start", "2027-01-01", "--unit", "F", "-"}, days, result{2, "", "stdin:1:1: model imported-cabbageworm/delahaut-2015 starts on 2027-01-01 and the weather ends on 2026-05-02\n"}},
		"impossible start":       {[]string{"calc", "model", "late-blight/hutton-2017", "--start", "2026-02-30", "-"}, days, result{2, "", "2026-02-30\" is not a day of the calendar"}},
		"Celsius taken for F":    {[]string{"calc", "model", "imported-cabbageworm/delahaut-2015", "-"}, "date,tmin,tmax\n2026-07-01,64,89\n", result{2, "", "stdin:2:15: tmax: 89 is outside -95 to 65"}},
		"unknown in the list":    {[]string{"models", "cabbageworms"}, "", result{2, "", `threat or model "cabbageworms" is not known`}},
		"check":                  {[]string{"check", "--config", "../../../deploy/plotwarden.example.yaml"}, "", result{0, "../../../deploy/plotwarden.example.yaml: no faults; 1 site, 2 plots, 3 plantings, 1 person, 4 log entries\n", ""}},
		"check without a file":   {[]string{"check"}, "", result{2, "", "plotwarden: missing flags: --config=FILE\nplotwarden help check shows how it is used\n"}},
		"check what is missing":  {[]string{"check", "--config", "none.yaml"}, "", result{2, "", "none.yaml: none.yaml: no such file or directory\n"}},
		"no command":             {nil, "", result{2, "", "expected one of"}},
		"unknown command":        {[]string{"chekc"}, "", result{2, "", "unexpected argument chekc"}},
		"unknown flag":           {[]string{"check", "--conf", "x"}, "", result{2, "", "unknown flag --conf"}},
		"help of nothing":        {[]string{"help", "fly"}, "", result{2, "", "unexpected argument fly"}},
	} {
		t.Run(name, func(t *testing.T) {
			got := plotwarden(t, c.stdin, c.args...)
			assert.Equal(t, c.want.code, got.code, "exit code; standard error: %s", got.err)
			if c.want.out == "" || strings.HasSuffix(c.want.out, "\n") {
				assert.Equal(t, c.want.out, got.out)
			} else {
				assert.Contains(t, got.out, c.want.out)
			}
			if c.want.err == "" {
				assert.Empty(t, got.err)
			} else {
				assert.Contains(t, got.err, c.want.err)
			}
			assert.NotContains(t, got.err, "goroutine")
		})
	}
}

func TestFileGivesTheSameAsStandardInput(t *testing.T) {
	args := []string{"calc", "degreedays", "--method", "double-sine", "--lower", "50", "--upper", "86", "--cutoff", "horizontal", "--unit", "F"}
	path := filepath.Join(t.TempDir(), "days.csv")
	require.NoError(t, os.WriteFile(path, []byte(days), 0o600))
	file, stdin := plotwarden(t, "", append(args, path)...), plotwarden(t, days, append(args, "-")...)
	assert.Equal(t, 0, file.code)
	assert.Equal(t, stdin.out, file.out)
	assert.Equal(t, strings.ReplaceAll(stdin.err, "stdin", path), file.err)
}

// Hutton 2017: two days in a row with at least 10 C and six hours at 90 % or more.
func TestModelOverHours(t *testing.T) {
	var hours strings.Builder
	hours.WriteString("time,temp_c,rh_pct\n")
	for h := range 24 * 4 {
		rh := 89.9
		if h%24 < 6 && h >= 24 && h < 24*3 { // six hours on the second and third day
			rh = 90
		}
		fmt.Fprintf(&hours, "2026-06-%02d %02d:00,10,%g\n", 1+h/24, h%24, rh)
	}
	got := plotwarden(t, hours.String(), "calc", "model", "late-blight/hutton-2017", "--start", "2026-06-01", "--zone", "Europe/London", "-")
	assert.Equal(t, 0, got.code, got.err)
	assert.Regexp(t, `^date,value,total,event\n2026-06-01,0,0,\n2026-06-02,0,0,\n2026-06-03,1,1,[^\n]+\n2026-06-04,0,1,\n$`, got.out)
	assert.Equal(t, "stdin: value and total are days that complete a period from 2026-06-01 on\n", got.err)
}

func TestCheckNamesEveryFault(t *testing.T) {
	got := plotwarden(t, "", "check", "--config", "bad.yaml")
	assert.Equal(t, 2, got.code)
	assert.Empty(t, got.out)
	lines := strings.Split(strings.TrimSpace(got.err), "\n")
	require.Greater(t, len(lines), 25)
	for _, l := range lines[:len(lines)-1] {
		assert.Regexp(t, `^bad\.yaml:\d+:\d+: .+`, l)
	}
	assert.Equal(t, fmt.Sprintf("plotwarden: %d faults in bad.yaml", len(lines)-1), lines[len(lines)-1])
}

func TestHelpHasAnExampleOfEveryCommand(t *testing.T) {
	top := plotwarden(t, "", "help")
	require.Equal(t, 0, top.code, top.err)
	assert.Empty(t, top.err)
	assert.Equal(t, top.out, plotwarden(t, "", "--help").out)
	parser, err := newParser(&commands{}, streams{}, os.Exit)
	require.NoError(t, err)
	leaves := parser.Model.Leaves(false)
	require.GreaterOrEqual(t, len(leaves), 7)
	for _, leaf := range leaves {
		command := regexp.MustCompile(` [[<].*`).ReplaceAllString(leaf.Path(), "") // without arguments
		assert.Contains(t, top.out, "\n  plotwarden "+command, command)
		one := plotwarden(t, "", append([]string{"help"}, strings.Fields(command)...)...)
		assert.Equal(t, 0, one.code, command)
		assert.Contains(t, one.out, "Usage: plotwarden "+command)
		assert.Contains(t, one.out, "Example:\n  plotwarden "+command)
	}
}

func TestWriteErrorIsNotSilent(t *testing.T) {
	full, err := os.OpenFile("/dev/full", os.O_WRONLY, 0)
	if err != nil {
		t.Skip("no /dev/full on this system")
	}
	defer full.Close()
	for _, args := range [][]string{{"version"}, {"models"}, {"models", "--csv"}, {"calc", "degreedays", "--method", "average", "--lower", "50", "--unit", "F", "-"}} {
		c := exec.Command(binary, args...)
		c.Stdin, c.Stdout = strings.NewReader(days), full
		var errs bytes.Buffer
		c.Stderr = &errs
		require.Error(t, c.Run(), args)
		assert.Equal(t, 1, c.ProcessState.ExitCode(), args)
		assert.Contains(t, errs.String(), "no space left", args)
	}
}
