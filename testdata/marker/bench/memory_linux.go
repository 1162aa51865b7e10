package main

import (
	"os"
	"syscall"
)

// mostMemory is the most memory in bytes that an ended process held at once.
func mostMemory(ended *os.ProcessState) int64 {
	if usage, ok := ended.SysUsage().(*syscall.Rusage); ok {
		return usage.Maxrss << 10
	}
	return 0
}
