package sheet

import (
	"math"
	"strconv"
	"strings"
)

// guard stands in front of text that a spreadsheet would take for a formula, as
// spreadsheets themselves write it, and of text whose spaces count.
const guard = "'"

// needsGuard reports whether a cell of text has to be guarded. What begins with the
// guard does too, so that reading takes away no more than writing put there.
func needsGuard(text string) bool {
	if text == "" {
		return false
	}
	return text != strings.TrimSpace(text) || strings.ContainsAny(text[:1], "=+-@'") ||
		strings.HasPrefix(text, "＝") || strings.HasPrefix(text, "＋") || strings.HasPrefix(text, "－") || strings.HasPrefix(text, "＠")
}

// textCell writes text so that no spreadsheet reckons with it.
func textCell(text string) string {
	if needsGuard(text) {
		return guard + text
	}
	return text
}

// textOf reads a cell of text.
func textOf(cell string) string {
	if rest, guarded := strings.CutPrefix(cell, guard); guarded && needsGuard(rest) {
		return rest
	}
	return strings.TrimSpace(cell)
}

// numberCell writes a number with all the figures it has, and 0 as an empty cell where
// nought means that nobody said.
func numberCell(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

func orEmpty(v float64) string {
	if v == 0 {
		return ""
	}
	return numberCell(v)
}

const aNumber = "a number, such as 12.5 or 12,5"

// numberOf reads a number with a decimal point or comma. One with separators of
// thousands is refused: 1,234 is two lengths.
func numberOf(cell string) (float64, string) {
	text := strings.TrimSpace(strings.TrimPrefix(strings.TrimSpace(cell), guard))
	text = strings.NewReplacer("−", "-", "\u2009", "", "\u00a0", "", "\u202f", "").Replace(text)
	if strings.Contains(text, ".") && strings.Contains(text, ",") || strings.Count(text, ",") > 1 {
		return 0, "write it without separators of thousands, such as 1234.5"
	}
	text = strings.Replace(text, ",", ".", 1)
	if strings.ContainsAny(text, "xXpP_iInN") { // no hexadecimal, no infinity
		return 0, aNumber
	}
	v, err := strconv.ParseFloat(text, 64)
	if err != nil || math.IsInf(v, 0) {
		return 0, aNumber
	}
	return v, ""
}

// wholeOf reads a whole number from low to high.
func wholeOf(cell string, low, high int) (int, string) {
	n, err := strconv.Atoi(strings.TrimSpace(cell))
	if err != nil || n < low || n > high {
		return 0, "a whole number from " + strconv.Itoa(low) + " to " + strconv.Itoa(high)
	}
	return n, ""
}

// yesOf reads a cell that says yes or no; an empty one says no.
func yesOf(cell string) (bool, string) {
	switch strings.ToLower(strings.TrimSpace(cell)) {
	case "", "no", "n", "0", "false":
		return false, ""
	case "yes", "y", "1", "true", "x":
		return true, ""
	}
	return false, "yes or no"
}

func yesCell(yes bool) string {
	if yes {
		return "yes"
	}
	return ""
}
