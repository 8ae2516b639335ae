package server

import (
	"fmt"
	"net/http"
	"strings"

	"github.com/gorilla/mux"
)

// Routes lists what a server answers to, as "GET /jobs/{job}", and "GET /static/*"
// where all addresses below one are answered. HEAD goes wherever GET does.
func (s *Server) Routes() (routes []string, err error) {
	err = s.router.Walk(func(route *mux.Route, _ *mux.Router, _ []*mux.Route) error {
		path, err := route.GetPathTemplate()
		if err != nil {
			return err
		}
		methods, err := route.GetMethods()
		if err != nil {
			return fmt.Errorf("%s takes every method: %w", path, err)
		}
		if expression, err := route.GetPathRegexp(); err == nil && !strings.HasSuffix(expression, "$") {
			path += "*"
		}
		for _, method := range methods {
			if method != http.MethodHead {
				routes = append(routes, method+" "+path)
			}
		}
		return nil
	})
	return routes, err
}

// Described is the API in OpenAPI 3.1.
func Described() ([]byte, error) { return described() }

// ExamplesJSON are the examples that the description shows.
var ExamplesJSON = examplesJSON
