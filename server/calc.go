package server

import (
	"errors"
	"fmt"
	"io"
	"net/http"

	"github.com/gorilla/mux"

	"relevel/events"
	"relevel/levelling/calc"
)

const maxCalcBody = 1 << 20

// calculator is one of GET calc.
type calculator struct {
	Name  string `json:"name"`
	About string `json:"about"`
	Help  string `json:"help"` // what it takes and answers
}

// getCalc is GET calc: what calculators there are, and how each is used.
func (s *Server) getCalc(w http.ResponseWriter, r *http.Request, _ events.ID) error {
	var list []calculator
	for _, name := range calc.Names() {
		about, err := calc.About(name)
		if err != nil {
			return err
		}
		help, err := calc.Help(name)
		if err != nil {
			return err
		}
		list = append(list, calculator{name, about, help})
	}
	return reply(w, http.StatusOK, map[string]any{"calculators": list})
}

// postCalc is POST calc/{name}.
func (s *Server) postCalc(w http.ResponseWriter, r *http.Request, _ events.ID) error {
	in, err := io.ReadAll(http.MaxBytesReader(w, r.Body, maxCalcBody))
	if err != nil {
		return fmt.Errorf("read input: %w", err)
	}
	out, err := calc.Run(mux.Vars(r)["name"], in)
	if errors.Is(err, calc.ErrUnknown) {
		return refuse(http.StatusNotFound, err.Error())
	}
	if err != nil {
		return err
	}
	w.Header().Set("Content-Type", "application/json")
	w.Write(append(out, '\n'))
	return nil
}
