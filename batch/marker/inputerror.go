package marker

import (
	"fmt"
	"strings"
)

// InputError names the part of an Instance that is wrong, in words for the person who can
// mend it.
type InputError struct {
	// Field is the path in the marker file, such as "pieces[2].width".
	Field   string
	Message string
	// Line of the file that the instance was read from; zero if it was not read from one.
	Line int
}

func (e *InputError) Error() string {
	text := e.Message
	if e.Field != "" {
		text = e.Field + ": " + text
	}
	if e.Line > 0 {
		text = fmt.Sprintf("line %d: %s", e.Line, text)
	}
	return text
}

// InputErrors are all the wrong parts of an Instance, in the order of the file.
// errors.As finds the first as an *InputError.
type InputErrors []*InputError

func (e InputErrors) Error() string {
	lines := make([]string, len(e))
	for i, one := range e {
		lines[i] = one.Error()
	}
	return strings.Join(lines, "\n")
}

// Unwrap returns the single errors.
func (e InputErrors) Unwrap() []error {
	all := make([]error, len(e))
	for i, one := range e {
		all[i] = one
	}
	return all
}
