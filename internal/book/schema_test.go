package book

import (
	"bytes"
	"encoding/json"
	"os"
	"reflect"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/santhosh-tekuri/jsonschema/v6"
	"go.yaml.in/yaml/v3"
)

// The schema is made by reflection over the raw types, by the same tags that
// the decoder reads. A general generator of schemas was weighed: it would have
// to be told of text, named and every type with a decode method one by one,
// which is all that there is to know; what is left is shorter than the telling.
//
// Tags: book is the key; doc what an editor shows; enum the words that the
// value can be; keys which form the names of a mapping have; need:"yes" that
// the key must be there.
type generator struct {
	defs map[string]any
	of   map[string]reflect.Type // by name, so that no two share it
}

// A type with a decode method says by a schema method what it reads: it
// returns a struct, each field of which is one form that may be written.
type formed interface{ schema() any }

func (rawPlanes) schema() any {
	return struct {
		Names []text
		Along []named[text] `keys:"name"`
	}{}
}

func (rawLines) schema() any {
	return struct {
		Lines []named[rawLine] `keys:"words"`
	}{}
}

func (rawWords) schema() any {
	return struct {
		Word  text
		Words []text
	}{}
}

func (rawOf) schema() any {
	return struct {
		Word text `enum:"each"`
		List []text
	}{}
}

func (p placed[T]) schema() any { return struct{ Keys T }{p.keys} }

// keyForms are the forms of names that the keys tag can ask for.
var keyForms = map[string]struct {
	pattern *regexp.Regexp
	sample  string
}{
	"name":    {regexp.MustCompile(`^[a-z][a-z0-9]*$`), "a1"},
	"mark":    {regexp.MustCompile(`^[a-z0-9]+$`), "0a"},
	"words":   {regexp.MustCompile(`^[a-z][a-z0-9]*(-[a-z][a-z0-9]*)*$`), "a-b1"},
	"feature": {regexp.MustCompile(`^[a-z][a-z0-9]*\.[a-z][a-z0-9]*$`), "a.b"},
	"site":    {regexp.MustCompile(`^[a-z][a-z0-9]*(-[1-9][0-9]*)?\.[a-z][a-z0-9]*(-[1-9][0-9]*)?$`), "a-1.b"},
}

// schemas are the schemas that there are, each of what a file's top is read into.
var schemas = []struct {
	file, name, about string
	top               reflect.Type
	current           *string
}{
	{"book.schema.json", FormatName, "One engine model's table of limits, for tenths", reflect.TypeFor[rawBook](), &Schema},
	{"settled.schema.json", SettledFormat, "What a person settled of a book, for tenths", reflect.TypeFor[rawSettled](), &SettledSchema},
}

func generateSchema(name, about string, of reflect.Type) []byte {
	g := &generator{defs: map[string]any{}, of: map[string]reflect.Type{}}
	// A value is text, whatever an editor takes it for; nothing behind a key
	// says nothing.
	g.defs["text"] = map[string]any{"type": []string{"string", "number", "boolean", "null"}}
	top := g.object(of)
	top["$schema"] = "https://json-schema.org/draft/2020-12/schema"
	top["title"] = name
	top["description"] = about
	top["$defs"] = g.defs
	var out bytes.Buffer
	enc := json.NewEncoder(&out)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", "  ")
	if err := enc.Encode(top); err != nil {
		panic("BUG: a schema that is no JSON: " + err.Error())
	}
	return out.Bytes()
}

// value returns the schema of a field of type t with that tag.
func (g *generator) value(t reflect.Type, tag reflect.StructTag) map[string]any {
	if t == reflect.TypeFor[text]() {
		if words := tag.Get("enum"); words != "" {
			var may []any
			for word := range strings.SplitSeq(words, ",") {
				may = append(may, word)
			}
			if slices.Contains(may, any("yes")) {
				may = append(may, true, false) // what YAML 1.1 makes of yes and no
			}
			return map[string]any{"enum": may}
		}
		return map[string]any{"$ref": "#/$defs/text"}
	}
	if forms := formsOf(t); forms != nil {
		var each []map[string]any
		for _, f := range forms {
			each = append(each, g.value(f.Type, f.Tag))
		}
		if len(each) == 1 {
			return each[0]
		}
		return map[string]any{"anyOf": each}
	}
	switch {
	case isNamed(t):
		value, _ := t.Elem().FieldByName("Value")
		each := g.value(value.Type, tag)
		keys := tag.Get("keys")
		if keys == "" {
			return map[string]any{"type": []string{"object", "null"}, "additionalProperties": each}
		}
		return map[string]any{
			"type":                 []string{"object", "null"},
			"patternProperties":    map[string]any{keyForms[keys].pattern.String(): each},
			"additionalProperties": false,
		}
	case t.Kind() == reflect.Slice:
		return map[string]any{"type": "array", "items": g.value(t.Elem(), tag)}
	case t.Kind() == reflect.Struct:
		name := strings.TrimSuffix(strings.TrimPrefix(t.Name(), "raw"), "Keys")
		name = strings.ToLower(name[:1]) + name[1:]
		if of, ok := g.of[name]; ok && of != t {
			panic("BUG: two types are called " + name)
		} else if !ok {
			g.of[name] = t
			g.defs[name] = g.object(t)
		}
		return map[string]any{"$ref": "#/$defs/" + name}
	}
	panic("BUG: no schema for a " + t.String() + ": give it a schema method")
}

// object returns the schema of a struct whose fields are keys.
func (g *generator) object(t reflect.Type) map[string]any {
	properties := map[string]any{}
	var needed []string
	for _, f := range keysOf(t) {
		key := f.Tag.Get("book")
		v := g.value(f.Type, f.Tag)
		if doc := f.Tag.Get("doc"); doc != "" {
			v["description"] = doc
		}
		properties[key] = v
		if f.Tag.Get("need") != "" {
			needed = append(needed, key)
		}
	}
	object := map[string]any{"type": []string{"object", "null"}, "properties": properties, "additionalProperties": false}
	if needed != nil {
		object["required"] = needed
	}
	return object
}

func keysOf(t reflect.Type) []reflect.StructField {
	return slices.DeleteFunc(reflect.VisibleFields(t), func(f reflect.StructField) bool { return f.Tag.Get("book") == "" })
}

func formsOf(t reflect.Type) []reflect.StructField {
	f, ok := reflect.New(t).Interface().(formed)
	if !ok {
		return nil
	}
	return reflect.VisibleFields(reflect.TypeOf(f.schema()))
}

func isNamed(t reflect.Type) bool {
	if t.Kind() != reflect.Slice || t.Elem().Kind() != reflect.Struct {
		return false
	}
	key, ok := t.Elem().FieldByName("Key")
	return ok && key.Type == reflect.TypeFor[text]()
}

func TestGeneratedSchema(t *testing.T) {
	for _, s := range schemas {
		want := string(generateSchema(s.name, s.about, s.top))
		if *update {
			if err := os.WriteFile(s.file, []byte(want), 0o666); err != nil {
				t.Fatal(err)
			}
			continue
		}
		if diff := cmp.Diff(want, *s.current); diff != "" {
			t.Errorf("%s is not current: run make generate\n%s", s.file, diff)
		}
	}
}

func compiledSchema(t *testing.T) *jsonschema.Schema {
	t.Helper()
	return compiled(t, generateSchema(schemas[0].name, schemas[0].about, schemas[0].top))
}

func compiled(t *testing.T, schema []byte) *jsonschema.Schema {
	t.Helper()
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(schema))
	if err != nil {
		t.Fatal(err)
	}
	c := jsonschema.NewCompiler()
	if err := c.AddResource("book.schema.json", doc); err != nil {
		t.Fatal(err)
	}
	s, err := c.Compile("book.schema.json")
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// asJSON turns YAML into what an editor would check.
func asJSON(n *yaml.Node) any {
	switch n.Kind {
	case yaml.MappingNode:
		object := map[string]any{}
		for i := 0; i < len(n.Content); i += 2 {
			object[n.Content[i].Value] = asJSON(n.Content[i+1])
		}
		return object
	case yaml.SequenceNode:
		list := []any{}
		for _, c := range n.Content {
			list = append(list, asJSON(c))
		}
		return list
	}
	switch n.Tag {
	case "!!null":
		return nil
	case "!!int", "!!float":
		return 1.0 // that it is a number is all that counts
	case "!!bool":
		return true
	}
	return n.Value
}

func parsed(t *testing.T, text string) *yaml.Node {
	t.Helper()
	var doc yaml.Node
	if err := yaml.Unmarshal([]byte(text), &doc); err != nil {
		t.Fatal(err)
	}
	return doc.Content[0]
}

// Books that load are good by the schema.
func TestSchemaTakesBooks(t *testing.T) {
	s := compiledSchema(t)
	demo, err := os.ReadFile("../demo/book.yaml")
	if err != nil {
		t.Fatal(err)
	}
	for _, text := range []string{string(demo), opposedBook, inLineBook, radialBook, strings.Replace(small, "lines:", "lines: {l: {name: L, size: rod.bigend, service: 1, new: }}", 1)} {
		b := loaded(t, text)
		if err := s.Validate(asJSON(parsed(t, text))); err != nil {
			t.Errorf("%s: %v", b.Engine, err)
		}
	}
}

// What the program writes beside a book is good by its schema; what it would not
// read is not.
func TestSchemaOfSettled(t *testing.T) {
	s := compiled(t, generateSchema(schemas[1].name, schemas[1].about, schemas[1].top))
	own, settled := settledAll(t)
	link, finding := striking("gap", ""), striking("", "")
	link.Link, finding.Finding = true, &acknowledged
	struck, _, err := Strike("b.yaml", own, settled, striking("bore", ""), link, finding)
	if err != nil {
		t.Fatal(err)
	}
	for _, text := range [][]byte{settled, struck} {
		if err := s.Validate(asJSON(parsed(t, string(text)))); err != nil {
			t.Errorf("%v\n%s", err, text)
		}
	}
	for _, c := range []struct{ old, new string }{
		{"format: settled/1", "format: settled/0"},
		{"struck:", "striked:"},
		{"cell: service", "cell: part"},
		{"    why: the wrong row\n", ""},
		{"reason: as-printed", "reason: [as-printed]"},
	} {
		text := strings.ReplaceAll(string(struck), c.old, c.new)
		if text == string(struck) {
			t.Fatalf("%q is not in\n%s", c.old, text)
		}
		if err := s.Validate(asJSON(parsed(t, text))); err == nil {
			t.Errorf("%s → %s: taken", c.old, c.new)
		}
		if _, err := Load("b.yaml", Join(own, []byte(text))); err == nil {
			t.Errorf("%s → %s: the schema refuses what the program takes", c.old, c.new)
		}
	}
}

// What the program would not read, an editor marks.
func TestSchemaRefuses(t *testing.T) {
	s := compiledSchema(t)
	for _, c := range []struct{ old, new string }{
		{"format: book/1", "format: book/0"},
		{"format: book/1\n", ""},
		{"engine: Invented opposed engine", "engine: [Invented]"},
		{"unit: in", "units: in"},
		{"unit: in", "unit: in\ncolour: red"},
		{"numbering: {first", "numbering: {colour: red, first"},
		{"rod: {shape: rod, positions: 4, features: {bigend: {kind: inside}}}", "rod: [bigend]"},
		{"rod: {shape: rod,", "Rod: {shape: rod,"},
		{"rod: {shape: rod,", "rod: {shape: stick,"},
		{"rod: {shape: rod,", "rod: {colour: red,"},
		{"bigend: {kind: inside}", "bigend: {kind: within}"},
		{"bigend: {kind: inside}", "bigend: {kind: inside, colour: red}"},
		{"bigend: {kind: inside}", "bigend: {kind: inside, planes: front}"},
		{"bigend: {kind: inside}", "bigend: {kind: inside, planes: {front: [1]}}"},
		{"bigend: {kind: inside}", "bigend: {kind: inside, planes: {Front: 1}}"},
		{"bigend: {kind: inside}", "bigend: {kind: inside, directions: 0}"},
		{"bigend: {kind: inside}", "bigend: {}"},
		{"arrangement: opposed", "arrangement: vee"},
		{"crank.pin-4: {angle", "pin-4: {angle"},
		{"crank.pin-4: {angle", "crank.pin-4: {colour: red, angle"},
		{"crank.pin-4: {angle: 0, cylinders: [4]}", "crank.pin-4: 0"},
		{"rod: each", "rod: all"},
		{"rod: each", "rod: {1: 1}"},
		{"kind: pair, of: [rod, cap]", "kind: both, of: [rod, cap]"},
		{"kind: pair, of: [rod, cap]", "of: [rod, cap]"},
		{"main: {name: Main, size: crank.main, new: 2.2490..2.2500}", "main: {name: Main, size: crank.main, new: [2.2490, 2.2500]}"},
		{"main: {name: Main, size: crank.main, new: 2.2490..2.2500}", "main: {name: Main, size: crank.main, new: 2.2490..2.2500, mates: {crank.main: crank.main-1}}"},
		{"main: {name: Main, size: crank.main, new: 2.2490..2.2500}", "main_size: {name: Main, size: crank.main, new: 2.2490..2.2500}"},
	} {
		text := strings.Replace(opposedBook, c.old, c.new, 1)
		if text == opposedBook {
			t.Fatalf("%q is not in the book", c.old)
		}
		if err := s.Validate(asJSON(parsed(t, text))); err == nil {
			t.Errorf("%s → %s: taken", c.old, c.new)
		}
		if list := faultsOf(t, text); len(list) == 0 {
			t.Errorf("%s → %s: the schema refuses what the program takes", c.old, c.new)
		}
	}
}

// Decoder and schema agree about shapes and keys: in a book that uses every
// key there is, each place in turn is replaced by what does not belong there.
func TestSchemaAgreesWithDecoder(t *testing.T) {
	s := compiledSchema(t)
	compare := func(n *yaml.Node, what string) {
		t.Helper()
		d := &decoder{file: "book.yaml"}
		var raw rawBook
		own := nodeOf(n)
		d.into(&own, "", reflect.ValueOf(&raw).Elem())
		for i := range raw.Lines.all {
			d.kept(&raw.Lines.all[i])
		}
		err := s.Validate(asJSON(n))
		if (len(d.faults) > 0) != (err != nil) {
			t.Errorf("%s: the decoder says %v; the schema says %v", what, d.faults, err)
		}
	}
	mutants := 0
	for _, last := range []bool{false, true} {
		whole := sample(reflect.TypeFor[rawBook](), "", last)
		compare(whole, "every key")
		var visit func(n *yaml.Node, path string)
		visit = func(n *yaml.Node, path string) {
			was := *n
			for _, other := range []string{"zz", "[zz]", "[[zz]]", "{a: [[[zz]]]}"} {
				*n = *parsed(t, other)
				if n.Kind == yaml.ScalarNode && was.Kind == yaml.ScalarNode {
					continue // whether a word is known the decoder does not say
				}
				mutants++
				compare(whole, path+": "+other)
			}
			*n = was
			for i, c := range n.Content {
				if n.Kind == yaml.SequenceNode {
					visit(c, path+"[]")
				} else if i%2 == 1 {
					visit(c, join(path, n.Content[i-1].Value))
				}
			}
		}
		visit(whole, "")
	}
	t.Log(mutants, "places")
}

// sample returns a node with every key of a type; of several forms the first
// or the last.
func sample(t reflect.Type, tag reflect.StructTag, last bool) *yaml.Node {
	scalar := func(text string) *yaml.Node {
		return &yaml.Node{Kind: yaml.ScalarNode, Tag: "!!str", Value: text, Line: 1, Column: 1}
	}
	if t == reflect.TypeFor[text]() {
		word, _, _ := strings.Cut(tag.Get("enum"), ",")
		return scalar(word)
	}
	if forms := formsOf(t); forms != nil {
		f := forms[0]
		if last {
			f = forms[len(forms)-1]
		}
		return sample(f.Type, f.Tag, last)
	}
	if isNamed(t) {
		value, _ := t.Elem().FieldByName("Value")
		return &yaml.Node{Kind: yaml.MappingNode, Line: 1, Column: 1, Content: []*yaml.Node{
			scalar(keyForms[tag.Get("keys")].sample), sample(value.Type, tag, last),
		}}
	}
	if t.Kind() == reflect.Slice {
		return &yaml.Node{Kind: yaml.SequenceNode, Line: 1, Column: 1, Content: []*yaml.Node{sample(t.Elem(), tag, last)}}
	}
	n := &yaml.Node{Kind: yaml.MappingNode, Line: 1, Column: 1}
	for _, f := range keysOf(t) {
		n.Content = append(n.Content, scalar(f.Tag.Get("book")), sample(f.Type, f.Tag, last))
	}
	return n
}

// The loader takes the names that the schema does.
func TestNamesAsTheSchemaHasThem(t *testing.T) {
	const letters = "ab09-.AZ {`é"
	var try func(text string, left int)
	try = func(text string, left int) {
		for form, takes := range map[string]func(string) bool{"name": IsName, "mark": IsDirection, "words": isLineKey} {
			if got, want := takes(text), keyForms[form].pattern.MatchString(text); got != want {
				t.Errorf("%q is a %s: %t, the schema says %t", text, form, got, want)
			}
		}
		for _, c := range letters {
			if left > 0 {
				try(text+string(c), left-1)
			}
		}
	}
	try("", 4)
}
