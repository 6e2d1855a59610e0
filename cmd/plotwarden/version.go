package main

import (
	"fmt"
	"runtime"
	"runtime/debug"
)

// version is set when a release is built: -ldflags "-X main.version=1.2.3".
var version string

type versionCmd struct{}

// Run prints the version of the program and of Go.
func (versionCmd) Run(s streams) error {
	_, err := fmt.Fprintf(s.out, "plotwarden %s %s\n", programVersion(), runtime.Version())
	return err
}

func programVersion() string {
	if version != "" {
		return version
	}
	if info, ok := debug.ReadBuildInfo(); ok && info.Main.Version != "" && info.Main.Version != "(devel)" {
		return info.Main.Version
	}
	return "unreleased"
}
