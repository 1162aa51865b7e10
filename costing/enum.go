package costing

import (
	"fmt"
	"strings"
)

// nameOf returns the name of a value of an enumeration whose values count from 0.
func nameOf[T ~int](what string, names []string, value T) string {
	if value < 0 || int(value) >= len(names) {
		return fmt.Sprintf("%s %d", what, int(value))
	}
	return names[value]
}

// valueNamed reads what nameOf writes; the error says what can be chosen.
func valueNamed[T ~int](what string, names []string, text string) (T, error) {
	for i, name := range names {
		if name == text {
			return T(i), nil
		}
	}
	return 0, fmt.Errorf("%q is not a %s: choose %s", text, what, strings.Join(names, ", "))
}
