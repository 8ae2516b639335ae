package server

import (
	"net/http"

	"github.com/gorilla/mux"
)

// Unclassified lists the routes of a server of which the table does not say who may use
// them, and what stands in the table and is no route.
func (s *Server) Unclassified() (missing, idle []string) {
	found := map[string]bool{}
	_ = s.router.Walk(func(route *mux.Route, _ *mux.Router, _ []*mux.Route) error {
		template, err := route.GetPathTemplate()
		if err != nil {
			missing = append(missing, err.Error())
			return nil
		}
		methods, err := route.GetMethods()
		if err != nil {
			missing = append(missing, template+" takes every method")
			return nil
		}
		for _, method := range methods {
			if method == http.MethodHead {
				continue
			}
			found[method+" "+template] = true
			if _, known := uses[method+" "+template]; !known {
				missing = append(missing, method+" "+template)
			}
		}
		return nil
	})
	for name := range uses {
		if !found[name] {
			idle = append(idle, name)
		}
	}
	return missing, idle
}

// Open tells which routes need no firm, and which a phone's token opens.
func Open() (anyones, phones []string) {
	for name, u := range uses {
		if u&byAll != 0 {
			anyones = append(anyones, name)
		}
		if u&byPhone != 0 {
			phones = append(phones, name)
		}
	}
	return anyones, phones
}
