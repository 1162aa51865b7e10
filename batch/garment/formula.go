package garment

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/expr-lang/expr"
	"github.com/expr-lang/expr/ast"
	"github.com/expr-lang/expr/parser"
	"github.com/expr-lang/expr/vm"

	"yardwright/batch/length"
)

// A formula is plain arithmetic over the measures of a size chart and the allowances of a
// style: + - * / and brackets, comparisons with ? :, and the functions min, max, ceil, floor,
// round, roundUp(x, step) and sqrt. Lengths written in it carry their unit as a name:
// 2*inch, 1.5*cm. A length alone may be written as everywhere: 17⅜ in. pi is 3.14159… The value is a length or, for counts, a plain number.

// unitNames are the lengths that a formula may name, in mm.
var unitNames = map[string]float64{
	"mm": 1, "cm": 10, "metre": 1000, "inch": 25.4, "yard": 914.4,
}

// reservedNames mean something in every formula, so no measure or allowance may take them.
var reservedNames = func() map[string]bool {
	names := map[string]bool{"pi": true, "in": true, "and": true, "or": true, "not": true, "let": true, "if": true, "else": true, "true": true, "false": true, "nil": true}
	for name := range unitNames {
		names[name] = true
	}
	for name := range functions {
		names[name] = true
	}
	return names
}()

// functions that a formula may call, with the number of their arguments (0: one or more).
var functions = map[string]struct {
	arguments int
	call      func(x []float64) float64
}{
	"min":     {0, func(x []float64) float64 { return slices.Min(x) }},
	"max":     {0, func(x []float64) float64 { return slices.Max(x) }},
	"ceil":    {1, func(x []float64) float64 { return math.Ceil(steady(x[0])) }},
	"floor":   {1, func(x []float64) float64 { return math.Floor(steady(x[0])) }},
	"round":   {1, func(x []float64) float64 { return math.Round(steady(x[0])) }},
	"roundUp": {2, func(x []float64) float64 { return math.Ceil(steady(x[0]/x[1])) * x[1] }},
	"sqrt":    {1, func(x []float64) float64 { return math.Sqrt(x[0]) }},
}

// steady takes the noise of binary fractions off a quotient before it is rounded, so that
// 5.4/1.1-style results that are whole on paper stay whole.
func steady(x float64) float64 {
	if near := math.Round(x); math.Abs(x-near) < 1e-9*math.Max(1, math.Abs(x)) {
		return near
	}
	return x
}

// names are the values that a formula may use.
type names struct {
	lengths map[string]float64 // in mm
	numbers map[string]float64
}

// all returns the names with every length multiplied by scale.
func (n names) all(scale float64) map[string]any {
	values := map[string]any{"pi": math.Pi}
	for name, value := range unitNames {
		values[name] = value * scale
	}
	for name, value := range n.lengths {
		values[name] = value * scale
	}
	for name, value := range n.numbers {
		values[name] = value
	}
	return values
}

func (n names) list() string {
	var known []string
	for name := range n.lengths {
		known = append(known, name)
	}
	for name := range n.numbers {
		known = append(known, name)
	}
	slices.Sort(known)
	return strings.Join(known, ", ")
}

// maxFormula keeps a formula short enough to be read.
const maxFormula = 400

// evaluateLength returns the value of a formula that must be a length.
func evaluateLength(formula string, known names) (length.Length, error) {
	if written, ok := writtenLength(formula); ok {
		if max(written, -written) > longestCut {
			return 0, errTooLong
		}
		return written, nil
	}
	value, doubled, err := evaluate(formula, known)
	if err != nil {
		return 0, err
	}
	// A true length doubles when every measure doubles. A bare number in a sum does not.
	if math.Abs(doubled-2*value) > 1e-9*math.Max(1, math.Abs(value)) {
		return 0, fmt.Errorf("this is not a length: write a unit with each added number, such as 2*inch or 5*cm")
	}
	result := math.Round(value * float64(length.Millimetre))
	if math.Abs(result) > float64(longestCut) {
		return 0, errTooLong
	}
	return length.Length(result), nil
}

// longestCut is the longest piece that a style may have.
const longestCut = 50 * length.Metre

var errTooLong = errors.New("comes to more than 50 m")

// writtenLength reads a length with its unit as pages and makers write it, such as 17⅜ in, where
// no formula is needed. A bare number is none: it means something else in each unit.
func writtenLength(formula string) (length.Length, bool) {
	inches, err := length.Parse(formula, length.Inches)
	if err != nil {
		return 0, false
	}
	metres, err := length.Parse(formula, length.Metres)
	return inches, err == nil && inches == metres
}

// evaluate returns the value of a formula, and its value if every length were twice as long.
func evaluate(formula string, known names) (value, doubled float64, err error) {
	program, err := compile(formula, known)
	if err != nil {
		return 0, 0, err
	}
	if value, err = run(program, known, 1); err != nil {
		return 0, 0, err
	}
	doubled, err = run(program, known, 2)
	return value, doubled, err
}

func compile(formula string, known names) (*vm.Program, error) {
	if err := checkFormula(formula, known); err != nil {
		return nil, err
	}
	options := []expr.Option{expr.Env(known.all(1)), expr.AsFloat64(), expr.DisableAllBuiltins(), expr.MaxNodes(200)}
	for name, function := range functions {
		options = append(options, expr.Function(name, func(params ...any) (any, error) {
			return call(name, function.arguments, function.call, params)
		}))
	}
	program, err := expr.Compile(formula, options...)
	if err != nil {
		return nil, fmt.Errorf("this formula can't be read: %s", firstLine(err))
	}
	return program, nil
}

func run(program *vm.Program, known names, scale float64) (float64, error) {
	result, err := expr.Run(program, known.all(scale))
	if err != nil {
		return 0, fmt.Errorf("this formula can't be worked out: %s", firstLine(err))
	}
	value, ok := result.(float64)
	if !ok || math.IsNaN(value) || math.IsInf(value, 0) {
		return 0, fmt.Errorf("this formula has no value here: does it divide by zero?")
	}
	return value, nil
}

func call(name string, arguments int, function func([]float64) float64, params []any) (any, error) {
	if len(params) == 0 || (arguments > 0 && len(params) != arguments) {
		return nil, fmt.Errorf("%s takes %d values", name, max(1, arguments))
	}
	values := make([]float64, len(params))
	for i, param := range params {
		switch value := param.(type) {
		case float64:
			values[i] = value
		case int:
			values[i] = float64(value)
		default:
			return nil, fmt.Errorf("%s takes numbers", name)
		}
	}
	return function(values), nil
}

// checkFormula finds what the library would say in programmers' words: unknown names and
// calls, and anything that is not arithmetic.
func checkFormula(formula string, known names) error {
	if strings.TrimSpace(formula) == "" {
		return fmt.Errorf("write a formula, such as waist/2 + 2*seam")
	}
	if len(formula) > maxFormula {
		return fmt.Errorf("write a formula of at most %d letters", maxFormula)
	}
	tree, err := parser.Parse(formula)
	if err != nil {
		return fmt.Errorf("this formula can't be read: %s", firstLine(err))
	}
	visitor := &nameVisitor{known: known.all(1)}
	ast.Walk(&tree.Node, visitor)
	if visitor.unknown != "" {
		return fmt.Errorf("%q is not a measure of the size chart nor an allowance of the style; known are %s, and the units inch, yard, mm, cm, metre", visitor.unknown, known.list())
	}
	if visitor.strange != "" {
		return fmt.Errorf("a formula is plain arithmetic; it can't use %s", visitor.strange)
	}
	return nil
}

type nameVisitor struct {
	known            map[string]any
	unknown, strange string
}

// Visit implements ast.Visitor.
func (v *nameVisitor) Visit(node *ast.Node) {
	switch n := (*node).(type) {
	case *ast.IdentifierNode:
		_, known := v.known[n.Value]
		_, function := functions[n.Value]
		if !known && !function && v.unknown == "" {
			v.unknown = n.Value
		}
	case *ast.CallNode, *ast.BuiltinNode, *ast.IntegerNode, *ast.FloatNode, *ast.UnaryNode, *ast.BinaryNode, *ast.ConditionalNode:
	default:
		if v.strange == "" {
			v.strange = fmt.Sprintf("%v", *node)
		}
	}
}

// firstLine shortens a library's message to the line that says what is wrong.
func firstLine(err error) string {
	line, _, _ := strings.Cut(err.Error(), "\n")
	return line
}
