// Package jsonfile reads the JSON files of the planners strictly, and says in the words of
// whoever wrote the file where it is wrong.
package jsonfile

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"reflect"
	"strconv"
	"strings"

	"yardwright/batch/length"
)

// Fault is a place in a file or a problem and what is wrong there, in words for the person who can mend it.
type Fault struct {
	// Field is a path such as "cuts[2].length", a line such as "line 7", or "file".
	Field, Message string
}

func (f *Fault) Error() string { return f.Field + ": " + f.Message }

// Place is the field or line that is wrong.
func (f *Fault) Place() string { return f.Field }

// InputFault tells commands and pages that the error is one of the input.
func (f *Fault) InputFault() bool { return true }

// Read reads one JSON object of at most so many bytes and nothing after it; names that the
// object does not know are faults. Errors are *Fault, or the reader's.
func Read(r io.Reader, most int64, into any) error {
	data, err := io.ReadAll(io.LimitReader(r, most+1))
	if err != nil {
		return fmt.Errorf("read the file: %w", err)
	}
	if int64(len(data)) > most {
		return &Fault{"file", fmt.Sprintf("larger than %d MiB; split the work", most>>20)}
	}
	d := json.NewDecoder(bytes.NewReader(data))
	d.DisallowUnknownFields()
	if err := d.Decode(into); err != nil {
		return faultOf(err, data, d.InputOffset())
	}
	if _, err := d.Token(); !errors.Is(err, io.EOF) {
		return &Fault{lineAt(data, d.InputOffset()), "there is more after the end of the object"}
	}
	return nil
}

func faultOf(err error, data []byte, at int64) *Fault {
	var syntax *json.SyntaxError
	var kind *json.UnmarshalTypeError
	switch {
	case errors.As(err, &syntax):
		return &Fault{lineAt(data, syntax.Offset), "not valid JSON: " + syntax.Error()}
	case errors.As(err, &kind):
		message := fmt.Sprintf("%s stands here where %s is needed", found(kind.Value), needed(kind.Type))
		if kind.Field != "" {
			message = kind.Field + ": " + message
		}
		return &Fault{lineAt(data, kind.Offset), message}
	case errors.Is(err, io.EOF), errors.Is(err, io.ErrUnexpectedEOF):
		return &Fault{lineAt(data, int64(len(data))), "the file ends too early"}
	}
	return &Fault{lineAt(data, at), strings.TrimPrefix(err.Error(), "json: ")}
}

// found and needed name kinds of values for people.
func found(value string) string {
	switch value {
	case "number":
		return "a number"
	case "string":
		return "text"
	case "array":
		return "a list"
	case "object":
		return "a group in braces"
	case "bool":
		return "true or false"
	}
	return "the " + value
}

func needed(t reflect.Type) string {
	switch {
	case t == reflect.TypeFor[json.Number]():
		return "a number"
	case t.Kind() == reflect.Int:
		return "a whole number"
	case t.Kind() == reflect.String:
		return "text"
	case t.Kind() == reflect.Slice:
		return "a list"
	}
	return "a group in braces"
}

func lineAt(data []byte, offset int64) string {
	offset = min(max(0, offset), int64(len(data)))
	return fmt.Sprintf("line %d", 1+bytes.Count(data[:offset], []byte{'\n'}))
}

// Length reads a number of a file in the file's unit.
func Length(n json.Number, unit length.Measure) (length.Length, error) {
	if n == "" {
		return 0, errors.New("the length is missing")
	}
	text, err := Plain(n)
	if err != nil {
		return 0, err
	}
	return length.Parse(text, unit)
}

// largest is far above every length and amount in use.
const largest = 1e15

// Plain writes a number without an exponent.
func Plain(n json.Number) (string, error) {
	text := n.String()
	if !strings.ContainsAny(text, "eE") {
		return text, nil
	}
	value, err := strconv.ParseFloat(text, 64)
	if err != nil || math.Abs(value) > largest {
		return "", fmt.Errorf("%s is too large", text)
	}
	return strconv.FormatFloat(value, 'f', -1, 64), nil
}
