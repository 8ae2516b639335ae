package openapi

// special are the forms of types that write themselves, or whose values are not
// those of their constants alone.
var special = map[string]Schema{
	"events.ID": {
		Type: "string", Pattern: `^([0-9a-fA-F]{8}(-[0-9a-fA-F]{4}){3}-[0-9a-fA-F]{12})?$`,
		Words: "A UUID, of version 7 where the program makes it. Empty where nobody and nothing is named.",
	},
	"events.Digest": {Type: "string", Pattern: "^[0-9a-f]{64}$", Words: "A SHA-256, 64 hexadecimal digits."},
	"tlog.Hash":     {Type: "string", Encoding: "base64", Words: "A hash of a job's tree (RFC 6962)."},
	"events.Kind": {
		Type: "string", Pattern: "^[a-z0-9-]{1,40}$",
		Words: "What happened. A log may hold kinds that a newer program recorded.",
	},
	"events.Length": {
		Words: "A length as it was read: a number is millimetres, anything else names its unit.",
		OneOf: []*Schema{
			{Type: "number"},
			{Type: "object", Properties: Properties{{"value", &Schema{Type: "number"}}, {"unit", &Schema{Type: "string", Enum: []string{"mm", "cm", "m", "in", "ft"}}}}, Required: []string{"value", "unit"}, More: false},
		},
	},
}
