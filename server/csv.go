package server

import (
	"encoding/csv"
	"net/http"
	"strconv"
	"strings"
)

// csvCell is a cell of text. What a spreadsheet would take for a formula, or
// trims to one, is kept from it by an apostrophe, as OWASP advises.
func csvCell(text string) string {
	if strings.IndexAny(strings.TrimLeft(text, " \t\r\n"), "=+-@") == 0 || strings.IndexAny(text, "\t\r\n") == 0 {
		return "'" + text
	}
	return text
}

// csvNumber is a cell that stays a number, to so many decimals.
func csvNumber(v float64, decimals int) string { return strconv.FormatFloat(v, 'f', decimals, 64) }

// sendCSV sends a table by RFC 4180, with the mark by which spreadsheets know its
// letters.
func sendCSV(w http.ResponseWriter, name string, rows [][]string) {
	w.Header().Set("Content-Type", "text/csv; charset=utf-8; header=present")
	w.Header().Set("Content-Disposition", `attachment; filename="`+name+`.csv"`)
	w.Write([]byte("\ufeff")) // a reader that has gone away is no error
	table := csv.NewWriter(w)
	table.UseCRLF = true
	table.WriteAll(rows)
}
