package server

import (
	"math"
	"net/http"
	"strconv"
	"strings"

	"relevel/events"
	"relevel/jobs"
	"relevel/levelling"
)

// mostMargin is the widest margin an aim can be agreed with, mm.
const mostMargin = 100

// getChoices is GET jobs/{job}/choices?margin_mm=.
func (s *Server) getChoices(w http.ResponseWriter, r *http.Request, firm events.ID) error {
	key, err := keyOf(r, firm)
	if err != nil {
		return err
	}
	margin, err := marginOf(r)
	if err != nil {
		return err
	}
	own, err := s.firmProfiles(r.Context(), firm)
	if err != nil {
		return err
	}
	choices := []jobs.Choice{}
	err = s.states.use(r.Context(), key, func(state *jobs.State) { choices = append(choices, state.Choices(margin, own...)...) })
	if err != nil {
		return err
	}
	return reply(w, http.StatusOK, map[string]any{"margin_mm": margin, "choices": choices})
}

// marginOf is what comes off the limits of the least lift; nought unless said.
func marginOf(r *http.Request) (float64, error) {
	text := strings.TrimSpace(r.URL.Query().Get("margin_mm"))
	if text == "" {
		return 0, nil
	}
	margin, err := readDecimal(text)
	if err != nil || margin < 0 || margin > mostMargin {
		return 0, levelling.Bad("margin_mm", "a number from 0 to 100, mm")
	}
	return margin, nil
}

// readDecimal reads a number as people type it.
func readDecimal(text string) (float64, error) {
	x, err := strconv.ParseFloat(strings.Replace(strings.TrimSpace(text), ",", ".", 1), 64)
	if err == nil && (math.IsNaN(x) || math.IsInf(x, 0)) {
		err = strconv.ErrRange
	}
	return x, err
}

// roundTo rounds to so many decimals.
func roundTo(x float64, decimals int) float64 {
	scale := math.Pow10(decimals)
	return math.Round(x*scale) / scale
}
