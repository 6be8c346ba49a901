//go:build !linux

package main

import "testing"

// fullDisk needs a way to limit the files of a program that runs.
func fullDisk(t *testing.T, _ string) { t.Skip("only Linux limits the files of a running program") }
