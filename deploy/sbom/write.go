package main

import (
	"bytes"
	"encoding/base64"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"strings"
)

// The forms of CycloneDX 1.6 that are used here.
type (
	document struct {
		Schema       string       `json:"$schema"`
		Format       string       `json:"bomFormat"`
		Spec         string       `json:"specVersion"`
		Version      int          `json:"version"`
		Metadata     metadata     `json:"metadata"`
		Components   []component  `json:"components"`
		Dependencies []dependency `json:"dependencies"`
	}
	metadata struct {
		Component component `json:"component"`
	}
	component struct {
		Type       string     `json:"type"`
		Ref        string     `json:"bom-ref"`
		Name       string     `json:"name"`
		Version    string     `json:"version"`
		Scope      string     `json:"scope,omitempty"`
		Hashes     []hash     `json:"hashes,omitempty"`
		Licences   []licence  `json:"licenses,omitempty"`
		PURL       string     `json:"purl,omitempty"`
		Properties []property `json:"properties,omitempty"`
	}
	hash struct {
		Algorithm string `json:"alg"`
		Content   string `json:"content"`
	}
	licence struct {
		Licence struct {
			ID string `json:"id"`
		} `json:"license"`
	}
	property struct {
		Name  string `json:"name"`
		Value string `json:"value"`
	}
	dependency struct {
		Ref       string   `json:"ref"`
		DependsOn []string `json:"dependsOn"`
	}
)

// cycloneDX is the document of a program with these parts. It has neither time nor
// number of its own, so that the same program gives the same bytes.
func cycloneDX(version string, parts []part) ([]byte, error) {
	own := component{Type: "application", Ref: "relevel", Name: "relevel", Version: version, Licences: named([]string{"Apache-2.0"})}
	d := document{
		Schema: "http://cyclonedx.org/schema/bom-1.6.schema.json", Format: "CycloneDX", Spec: "1.6", Version: 1,
		Metadata: metadata{Component: own},
	}
	within := dependency{Ref: own.Ref}
	for _, p := range parts {
		c, err := p.component()
		if err != nil {
			return nil, err
		}
		d.Components = append(d.Components, c)
		within.DependsOn = append(within.DependsOn, c.Ref)
	}
	d.Dependencies = []dependency{within}
	text, err := json.MarshalIndent(d, "", "  ")
	return append(text, '\n'), err
}

func (p part) component() (component, error) {
	c := component{Type: "library", Ref: p.purl(), Name: p.name, Version: p.version, Scope: "required", Licences: named(p.licences), PURL: p.purl()}
	switch digest, sha512 := strings.CutPrefix(p.sum, "sha512-"); {
	case sha512:
		raw, err := base64.StdEncoding.DecodeString(digest)
		if err != nil {
			return c, fmt.Errorf("read the digest of %s: %w", p.name, err)
		}
		c.Hashes = []hash{{"SHA-512", hex.EncodeToString(raw)}}
	case p.sum != "": // a hash of hashes, as go.sum has it
		c.Properties = []property{{"go.sum", p.sum}}
	}
	return c, nil
}

func named(ids []string) (all []licence) {
	for _, id := range ids {
		var l licence
		l.Licence.ID = id
		all = append(all, l)
	}
	return all
}

// licenceText is every licence word for word, one part after the other.
func licenceText(parts []part) []byte {
	var b bytes.Buffer
	b.WriteString("What of others is in relevel, with their licences.\n")
	for _, p := range parts {
		fmt.Fprintf(&b, "\n%s\n%s %s\n\n%s\n", strings.Repeat("=", 78), p.name, p.version, strings.Join(p.texts, "\n\n"))
	}
	return b.Bytes()
}
