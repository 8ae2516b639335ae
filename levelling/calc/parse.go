package calc

import (
	"bytes"
	"encoding/json"
	"fmt"
	"strconv"
	"unicode/utf8"

	"relevel/levelling"
)

// maxDepth is how deep objects and lists may stand in each other. No calculator
// needs more than four levels.
const maxDepth = 16

// parse reads one JSON object and nothing after it. encoding/json alone would
// take a field twice, and fields in other capitals.
func parse(in []byte) (*object, error) {
	if !utf8.Valid(in) {
		return nil, levelling.Bad("input", "one JSON object in UTF-8")
	}
	var raw json.RawMessage
	if err := json.Unmarshal(in, &raw); err != nil {
		return nil, levelling.Bad("input", "one JSON object: "+err.Error())
	}
	p := parser{json.NewDecoder(bytes.NewReader(in))}
	p.dec.UseNumber()
	v, err := p.value("", 0)
	if err != nil {
		return nil, err
	}
	fields, ok := v.(map[string]any)
	if !ok {
		return nil, levelling.Bad("input", "one JSON object; not "+kind(v))
	}
	return newObject(fields), nil
}

// parser turns text that is valid JSON into map[string]any, []any, string,
// float64, bool and nil.
type parser struct{ dec *json.Decoder }

// value reads the next value, which stands at path.
func (p parser) value(path string, depth int) (any, error) {
	token, err := p.dec.Token()
	if err != nil {
		return nil, fmt.Errorf("read valid JSON: %w", err)
	}
	if depth > maxDepth {
		return nil, levelling.Bad(orInput(path), "a value that is not nested so deep")
	}
	switch t := token.(type) {
	case json.Delim:
		if t == '{' {
			return p.object(path, depth)
		}
		return p.list(path, depth)
	case json.Number:
		x, err := strconv.ParseFloat(string(t), 64)
		if err != nil { // valid JSON fails by its size alone
			return nil, levelling.Bad(orInput(path), "a finite number")
		}
		return x, nil
	}
	return token, nil
}

func (p parser) object(path string, depth int) (any, error) {
	fields := map[string]any{}
	for p.dec.More() {
		key, err := p.dec.Token()
		if err != nil {
			return nil, fmt.Errorf("read valid JSON: %w", err)
		}
		name, _ := key.(string) // the key of valid JSON is a string
		at := join(path, name)
		if _, twice := fields[name]; twice {
			return nil, levelling.Bad(at, "given once; it is there twice")
		}
		if fields[name], err = p.value(at, depth+1); err != nil {
			return nil, err
		}
	}
	return fields, p.end()
}

func (p parser) list(path string, depth int) (any, error) {
	items := []any{}
	for p.dec.More() {
		item, err := p.value(index(path, len(items)), depth+1)
		if err != nil {
			return nil, err
		}
		items = append(items, item)
	}
	return items, p.end()
}

// end takes the closing bracket.
func (p parser) end() error {
	if _, err := p.dec.Token(); err != nil {
		return fmt.Errorf("read valid JSON: %w", err)
	}
	return nil
}

// join names a field of the object at path. A name that does not read like one
// is quoted, so that an error stays one line.
func join(path, name string) string {
	if !plainName(name) {
		name = fmt.Sprintf("%.60q", name)
	}
	if path == "" {
		return name
	}
	return path + "." + name
}

func plainName(name string) bool {
	for _, r := range name {
		if (r < 'a' || r > 'z') && (r < 'A' || r > 'Z') && (r < '0' || r > '9') && r != '_' {
			return false
		}
	}
	return name != "" && len(name) <= 60
}

// index names the ith item of the list at path.
func index(path string, i int) string { return path + "[" + strconv.Itoa(i) + "]" }

// orInput names the whole input where there is no field to name.
func orInput(path string) string {
	if path == "" {
		return "input"
	}
	return path
}

// kind says in words what a value is.
func kind(v any) string {
	switch v.(type) {
	case map[string]any:
		return "an object"
	case []any:
		return "a list"
	case string:
		return "text"
	case float64:
		return "a number"
	case bool:
		return "true or false"
	}
	return "null"
}
