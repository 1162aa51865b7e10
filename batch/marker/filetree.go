package marker

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
)

// fileNode is a value of a marker file with the line that it stands on, so that messages can
// name it.
type fileNode struct {
	line   int
	scalar any // string, json.Number, bool or nil; unless it holds members or elements
	object bool
	array  bool
	// members of an object in the order of the file, elements of an array.
	names []string
	nodes []*fileNode
}

func (n *fileNode) member(name string) *fileNode {
	for i := range n.names {
		if n.names[i] == name {
			return n.nodes[i]
		}
	}
	return nil
}

// maxFileSize is far above any marker that can be laid.
const maxFileSize = 64 << 20

// readTree reads one JSON value and nothing after it.
func readTree(r io.Reader) (*fileNode, error) {
	text, err := io.ReadAll(io.LimitReader(r, maxFileSize+1))
	if err != nil {
		return nil, fmt.Errorf("the file cannot be read: %w", err)
	}
	if len(text) > maxFileSize {
		return nil, &InputError{Message: "the file is too large for a marker"}
	}
	t := treeReader{text: text, decoder: json.NewDecoder(bytes.NewReader(text))}
	t.decoder.UseNumber()
	root, err := t.value("", 0)
	if err != nil {
		return nil, err
	}
	if _, err := t.decoder.Token(); err != io.EOF {
		return nil, &InputError{Line: t.line(), Message: "there is more text after the end of the marker"}
	}
	return root, nil
}

type treeReader struct {
	text    []byte
	decoder *json.Decoder
	lines   int // newlines before counted
	counted int
}

// line returns the line of the last token read.
func (t *treeReader) line() int {
	to := min(int(t.decoder.InputOffset()), len(t.text))
	t.lines += bytes.Count(t.text[t.counted:to], []byte("\n"))
	t.counted = to
	return t.lines + 1
}

func (t *treeReader) token(field string) (json.Token, error) {
	token, err := t.decoder.Token()
	if err == nil {
		return token, nil
	}
	if errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) {
		if len(bytes.TrimSpace(t.text)) == 0 {
			return nil, &InputError{Message: "the file is empty"}
		}
		return nil, &InputError{Field: field, Line: bytes.Count(t.text, []byte("\n")) + 1, Message: "the file ends too early; a bracket is not closed"}
	}
	line := t.line()
	if syntax := (*json.SyntaxError)(nil); errors.As(err, &syntax) {
		line = 1 + bytes.Count(t.text[:min(int(syntax.Offset), len(t.text))], []byte("\n"))
	}
	return nil, &InputError{Field: field, Line: line, Message: "this is not JSON: " + err.Error()}
}

// maxDepth is more than a marker file has.
const maxDepth = 8

func (t *treeReader) value(field string, depth int) (*fileNode, error) {
	token, err := t.token(field)
	if err != nil {
		return nil, err
	}
	node := &fileNode{line: t.line()}
	if depth > maxDepth {
		return nil, &InputError{Field: field, Line: node.line, Message: "there are too many brackets inside each other"}
	}
	switch token {
	case json.Delim('{'):
		node.object = true
		return node, t.members(node, field, depth)
	case json.Delim('['):
		node.array = true
		return node, t.elements(node, field, depth)
	}
	node.scalar = token
	return node, nil
}

func (t *treeReader) members(node *fileNode, field string, depth int) error {
	for t.decoder.More() {
		token, err := t.token(field)
		if err != nil {
			return err
		}
		name, _ := token.(string)
		path := joinField(field, name)
		if node.member(name) != nil {
			return &InputError{Field: path, Line: t.line(), Message: "this field stands here twice"}
		}
		child, err := t.value(path, depth+1)
		if err != nil {
			return err
		}
		node.names, node.nodes = append(node.names, name), append(node.nodes, child)
	}
	_, err := t.token(field)
	return err
}

func (t *treeReader) elements(node *fileNode, field string, depth int) error {
	for t.decoder.More() {
		child, err := t.value(fmt.Sprintf("%s[%d]", field, len(node.nodes)), depth+1)
		if err != nil {
			return err
		}
		node.nodes = append(node.nodes, child)
	}
	_, err := t.token(field)
	return err
}

func joinField(field, name string) string {
	if field == "" {
		return name
	}
	return field + "." + name
}
