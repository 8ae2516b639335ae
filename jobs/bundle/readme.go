package bundle

import _ "embed"

// readme is README.txt of every bundle of this schema. It never changes: a verifier
// compares it.
//
//go:embed readme.txt
var readme string
