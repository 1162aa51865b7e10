package main

import (
	"bytes"
	"fmt"
	"os"
)

// mostMemory is the most memory in bytes that this process held at once, of its own: what the system
// says of an ended process counts that of the one that started it, too.
func mostMemory() (int64, error) {
	status, err := os.ReadFile("/proc/self/status")
	if err != nil {
		return 0, err
	}
	_, rest, _ := bytes.Cut(status, []byte("VmHWM:"))
	var kib int64
	if _, err := fmt.Sscan(string(rest), &kib); err != nil {
		return 0, fmt.Errorf("no VmHWM in /proc/self/status: %w", err)
	}
	return kib << 10, nil
}
