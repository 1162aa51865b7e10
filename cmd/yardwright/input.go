package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"strings"
)

// input is a file that a command reads whole.
type input struct {
	// name is the path given, "-" for standard input.
	name string
	data []byte
}

// badFile is a file that cannot be read at all, by a mistake in naming it.
type badFile struct{ error }

// readInput reads a file, or standard input if the name is -. What is wrong with the name is a badFile.
func readInput(name string, stdin io.Reader) (input, error) {
	if name == "-" {
		data, err := io.ReadAll(stdin)
		return input{name, data}, err
	}
	if about, err := os.Stat(name); err == nil && about.IsDir() {
		return input{}, badFile{fmt.Errorf("%s is a folder; name a file in it", name)}
	}
	data, err := os.ReadFile(name)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return input{}, badFile{fmt.Errorf("there is no file %s", name)}
	case errors.Is(err, fs.ErrPermission):
		return input{}, badFile{fmt.Errorf("%s may not be read by you", name)}
	}
	return input{name, data}, err
}

// inputFault is an error at a field or line of the input.
type inputFault interface {
	error
	InputFault() bool
	Place() string
}

// describe says an error of the input with the file and the lines that it is about; other errors
// as they are.
func (in input) describe(err error) string {
	faults := faultsOf(err)
	if len(faults) == 0 {
		return err.Error()
	}
	var lines []string
	if in.name != "-" {
		lines = []string{in.name + ":"}
	}
	for _, fault := range faults {
		text := fault.Error()
		if line := lineOf(in.data, fault.Place()); line > 0 {
			text = fmt.Sprintf("line %d: %s", line, text)
		}
		lines = append(lines, text)
	}
	return strings.Join(lines, "\n")
}

// faultsOf are the errors of the input inside an error, in their order.
func faultsOf(err error) []inputFault {
	if fault, ok := err.(inputFault); ok { // each level is looked at by itself
		return []inputFault{fault}
	}
	var all []inputFault
	switch outer := err.(type) { // likewise
	case interface{ Unwrap() []error }:
		for _, inner := range outer.Unwrap() {
			all = append(all, faultsOf(inner)...)
		}
	case interface{ Unwrap() error }:
		all = faultsOf(outer.Unwrap())
	}
	return all
}

// lineOf is the line on which the value of a field such as "cuts[2].length" begins, or what the
// missing field should stand in; 0 where the place is no field of the file.
func lineOf(data []byte, field string) int {
	if field == "" || field == "file" || strings.HasPrefix(field, "line ") {
		return 0
	}
	f := lineFinder{decoder: json.NewDecoder(bytes.NewReader(data)), field: field, length: -1}
	f.walk("")
	return 1 + bytes.Count(data[:f.offset], []byte{'\n'})
}

// lineFinder looks for the value whose path is the longest beginning of a field.
type lineFinder struct {
	decoder *json.Decoder
	field   string
	length  int
	offset  int64
}

// walk reads one value; false at the end of what can be read.
func (f *lineFinder) walk(path string) bool {
	token, err := f.decoder.Token()
	if err != nil {
		return false
	}
	if f.leadsTo(path) && len(path) > f.length {
		f.length, f.offset = len(path), f.decoder.InputOffset()
	}
	switch token {
	case json.Delim('{'):
		return f.inside(func(int) (string, bool) {
			name, err := f.decoder.Token()
			return strings.TrimPrefix(fmt.Sprintf("%s.%v", path, name), "."), err == nil
		})
	case json.Delim('['):
		return f.inside(func(i int) (string, bool) { return fmt.Sprintf("%s[%d]", path, i), true })
	}
	return true
}

// inside walks through the members of an object or a list, whose paths next gives.
func (f *lineFinder) inside(next func(int) (string, bool)) bool {
	for i := 0; f.decoder.More(); i++ {
		path, ok := next(i)
		if !ok || !f.walk(path) {
			return false
		}
	}
	_, err := f.decoder.Token()
	return err == nil
}

// leadsTo tells whether a path is the field or a whole beginning of it.
func (f *lineFinder) leadsTo(path string) bool {
	rest, ok := strings.CutPrefix(f.field, path)
	return ok && (path == "" || rest == "" || rest[0] == '.' || rest[0] == '[')
}

// limitFault says which limit of a search is none that can be kept; empty if both can.
func limitFault(seconds float64, iterations int) string {
	switch {
	case !(seconds >= 0 && seconds <= 1e6):
		return "--seconds: give 0 (no limit) to 1000000 seconds"
	case iterations < 0:
		return "--iterations: give 0 (no limit) or more"
	}
	return ""
}
