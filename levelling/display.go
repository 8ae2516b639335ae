package levelling

import (
	"math"
	"strconv"
	"strings"
)

// Displayed are the units that screens show lengths in: whole millimetres, inches
// to the sixteenth, hundredths of a foot. Any other unit is shown as millimetres.
func Displayed() []Unit { return []Unit{Millimetre, Inch, Foot} }

// smallest is the step of each display, in mm.
func (u Unit) smallest() float64 {
	switch u {
	case Inch:
		return 25.4 / 16
	case Foot:
		return 3.048
	}
	return 1
}

// Word is what follows a figure of Show; inches have their mark already.
func (u Unit) Word() string {
	switch u {
	case Inch:
		return ""
	case Foot:
		return " ft"
	}
	return " mm"
}

// Show writes a length in mm as people read it: "1 284", "50 9⁄16″", "4.21". What
// is no nought in whole millimetres is none in a coarser unit either, because
// nought says level: it is "<1⁄16″".
func (u Unit) Show(mm float64) string {
	text := u.size(math.Abs(mm))
	if mm < 0 && !isNought(text) {
		return minus + text
	}
	return text
}

// ShowSigned writes a change with its sign, "+17", "−1⁄8″", and nought without.
func (u Unit) ShowSigned(mm float64) string {
	text := u.size(math.Abs(mm))
	switch {
	case isNought(text):
		return text
	case mm < 0:
		return minus + text
	}
	return "+" + text
}

// ShowFine writes a length to the half millimetre, as it was read; the other units
// read no finer than they show.
func (u Unit) ShowFine(mm float64) string {
	if u == Inch || u == Foot {
		return u.Show(mm)
	}
	return strings.Replace(FormatHalfMM(mm), "-", minus, 1)
}

// ShowLimit writes a length where it is held against a limit: to a tenth of a
// millimetre, and in the other units as fine as that.
func (u Unit) ShowLimit(mm float64) string {
	switch u {
	case Inch:
		return fine(mm/25.4, 3) + "″"
	case Foot:
		return fine(mm/304.8, 4)
	}
	return fine(mm, 1)
}

func fine(x float64, decimals int) string {
	power := math.Pow10(decimals)
	text := strconv.FormatFloat(math.Round(x*power)/power+0, 'f', -1, 64)
	return strings.Replace(text, "-", minus, 1)
}

// ShowSD writes a standard deviation, never less than the unit can show, "" for
// none.
func (u Unit) ShowSD(sd float64) string {
	if !(sd > 0) || math.IsInf(sd, 0) {
		return ""
	}
	return "±" + u.size(math.Max(sd, u.smallest()))
}

// ShowWith is Show with the unit.
func (u Unit) ShowWith(mm float64) string { return u.Show(mm) + u.Word() }

// Respell writes a sentence with its lengths in mm in this unit: "about 10 mm above".
// Slopes and areas, "3 mm per m" and "20 mm²", stay. It is for sentences that were
// made when it was not known who reads them; what people typed must not be among them.
func (u Unit) Respell(sentence string) string {
	if u != Inch && u != Foot {
		return sentence
	}
	var b strings.Builder
	for {
		before, after, found := strings.Cut(sentence, " mm")
		if !found {
			return b.String() + sentence
		}
		text := before[len(strings.TrimRight(before, "0123456789.")):]
		mm, err := strconv.ParseFloat(text, 64)
		if err != nil || strings.HasPrefix(after, "²") || strings.HasPrefix(after, " per ") {
			b.WriteString(before + " mm")
		} else {
			b.WriteString(strings.TrimSuffix(before, text) + u.respelt(mm, text) + u.Word())
		}
		sentence = after
	}
}

// respelt is a length as fine as it was written.
func (u Unit) respelt(mm float64, text string) string {
	if strings.Contains(text, ".") {
		return u.ShowLimit(mm)
	}
	return u.Show(mm)
}

// ShowPlan writes a distance on the plan, m, as people lay it out: "3.6 m", or in
// feet and inches, "11 ft 9 3⁄4″". Whoever reads hundredths has them, "11.81 ft".
func (u Unit) ShowPlan(m float64) string {
	mm := float64(m * 1000)
	switch u {
	case Foot:
		return strings.Replace(FormatFeet(mm), "-", minus, 1) + " ft"
	case Inch:
		return feetAndInches(mm)
	}
	return fine(m, 2) + " m"
}

// feetAndInches carries a length that rounds up to a whole foot into the feet.
func feetAndInches(mm float64) string {
	n := math.Abs(Sixteenths(mm))
	feet := math.Floor(n / (12 * 16))
	text := plain(feet, 0) + " ft"
	if rest := n - float64(feet*12*16); rest > 0 {
		text += " " + sixteenthsWords(rest) + "″"
	}
	if feet == 0 && n > 0 {
		text = sixteenthsWords(n) + "″"
	}
	if mm < 0 && n > 0 {
		return minus + text
	}
	return text
}

const minus = "−"

func isNought(text string) bool { return strings.Trim(text, "0.″") == "" }

// size writes a length that is not negative.
func (u Unit) size(mm float64) string {
	if math.IsNaN(mm) || math.IsInf(mm, 0) {
		return plain(mm, 0)
	}
	whole := FormatMM(mm)
	switch u {
	case Inch:
		n := Sixteenths(mm)
		if n == 0 && whole != "0" {
			return "<1⁄16″"
		}
		return sixteenthsWords(n) + "″"
	case Foot:
		text := FormatFeet(mm)
		if text == "0.00" && whole != "0" {
			return "<0.01"
		}
		return text
	}
	return thousands(whole)
}

// sixteenthsWords writes a whole number of sixteenths in lowest terms: 19 is
// "1 3⁄16".
func sixteenthsWords(n float64) string {
	whole := math.Floor(n / 16)
	over, under := n-float64(whole*16), 16.0
	for over != 0 && math.Mod(over, 2) == 0 {
		over, under = over/2, under/2
	}
	if over == 0 {
		return plain(whole, 0)
	}
	part := plain(over, 0) + "⁄" + plain(under, 0)
	if whole == 0 {
		return part
	}
	return plain(whole, 0) + " " + part
}

// thousands puts a thin space between the thousands of a whole number.
func thousands(digits string) string {
	for i := len(digits) - 3; i > 0; i -= 3 {
		digits = digits[:i] + "\u2009" + digits[i:]
	}
	return digits
}
