package drawing

// plainWords are what keys say to somebody who knows no word of the trade. A line that
// is drawn as now is that of the time that stands above its drawing.
var plainWords = map[string]string{
	"now, read":     "as measured",
	"now, expected": "estimated",
	"target":        "the agreed height",
	"no rooms drawn: all supports as one floor": "no rooms drawn: all of it as one floor",
	string(Survey):  "before the work",
	string(AsFound): "before the work",
	string(Now):     "now",

	"; light number: expected, not read":          "; a light number is estimated",
	" below the highest height read":              " lower than the highest place measured",
	" to go to the target; what is above it as 0": " lower than the agreed height",
	"dotted: its own line, highest target ":       "dotted: where it would be level, at ",
	"dotted: its own line, highest height ":       "dotted: where it would be level, at ",
	"Floor %s, shaded by how far it has to go":    "Floor %s, the darker the lower",
	"Lines along %d %s, heights drawn ×%s":        "The floor along %d %s, heights drawn ×%s",
	"; heights drawn ×":                           "; heights drawn larger ×",
}

// means is a phrase of a key as the drawing's readers know it.
func (c *canvas) means(phrase string) string {
	if said, known := plainWords[phrase]; c.plain && known {
		return said
	}
	return phrase
}
