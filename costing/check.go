package costing

import (
	"fmt"
	"strings"

	"yardwright/costing/money"
)

// InputError names the part of an input that is wrong, in words for the person who can mend it.
type InputError struct {
	// Field is the path of the part, such as cloths[1].wastage.
	Field   string
	Message string
}

func (e *InputError) Error() string { return e.Field + ": " + e.Message }

// InputErrors holds everything that is wrong with an input, in its order.
type InputErrors []*InputError

func (e InputErrors) Error() string {
	lines := make([]string, len(e))
	for i, one := range e {
		lines[i] = one.Error()
	}
	return strings.Join(lines, "; ")
}

// Unwrap gives errors.Is and errors.As the single errors.
func (e InputErrors) Unwrap() []error {
	list := make([]error, len(e))
	for i, one := range e {
		list[i] = one
	}
	return list
}

// checker collects what is wrong with an input. Names of fields are only put together when
// something is wrong: inputs are checked by the thousand.
type checker struct {
	found InputErrors
	list  string
	index int
}

// enter says that the fields that follow belong to one entry of a list; leave ends that.
func (c *checker) enter(list string, index int) { c.list, c.index = list, index }
func (c *checker) leave()                       { c.list = "" }

func (c *checker) fail(field, format string, arguments ...any) {
	if c.list != "" {
		field = fmt.Sprintf("%s[%d].%s", c.list, c.index, field)
	}
	c.found = append(c.found, &InputError{Field: field, Message: fmt.Sprintf(format, arguments...)})
}

// err returns all errors found, or nil.
func (c *checker) err() error {
	if len(c.found) == 0 {
		return nil
	}
	return c.found
}

func (c *checker) notNegative(field string, d money.Decimal) {
	if d.Sign() < 0 {
		c.fail(field, "must not be less than 0, but is %s", d)
	}
}

func (c *checker) positive(field string, d money.Decimal) {
	if d.Sign() <= 0 {
		c.fail(field, "must be more than 0, but is %s", d)
	}
}

// price wants an amount of the currency that isn't negative; the zero Amount will do.
func (c *checker) price(field string, a money.Amount, currency money.Currency) {
	if a == (money.Amount{}) {
		return
	}
	// That the currency itself is missing is said once, at its own field.
	if a.Currency() != currency && !currency.IsZero() {
		c.fail(field, "is in %s, but must be in %s", a.Currency(), currency)
	}
	c.notNegative(field, a.Number())
}

// share wants a rate from 0 % to below 100 %.
func (c *checker) share(field string, r money.Rate) {
	if r.Sign() < 0 || r.Fraction().Cmp(one) >= 0 {
		c.fail(field, "must be from 0 %% to below 100 %%, but is %s", written(r))
	}
}

// addition wants a rate from 0 %; it may exceed 100 %.
func (c *checker) addition(field string, r money.Rate) {
	if r.Sign() < 0 {
		c.fail(field, "must not be less than 0 %%, but is %s", written(r))
	}
}

// loss wants a mark-up: it may be negative, for what sells below its cost, but not below −100 %,
// where the price would be negative.
func (c *checker) loss(field string, r money.Rate) {
	if r.Fraction().Cmp(one.Neg()) < 0 {
		c.fail(field, "must be -100 %% or more, but is %s", written(r))
	}
}

// below wants a share of a price below 100 %; it may be negative, for what sells below its cost.
func (c *checker) below(field string, r money.Rate) {
	if r.Fraction().Cmp(one) >= 0 {
		c.fail(field, "must be below 100 %%, but is %s", written(r))
	}
}

// same wants two amounts in one currency.
func (c *checker) same(field string, a, b money.Amount) {
	if _, err := a.Cmp(b); err != nil {
		c.fail(field, "is in %s, but must be in %s", a.Currency(), b.Currency())
	}
}

// known wants one of the first count values of an enumeration.
func known[T ~int](c *checker, field string, value T, names []string) {
	if value < 0 || int(value) >= len(names) {
		c.fail(field, "isn't known: choose %s", strings.Join(names, ", "))
	}
}

// written writes a rate as the messages do.
func written(r money.Rate) string { return r.Percent().String() + " %" }
