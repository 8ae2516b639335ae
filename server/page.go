package server

import "github.com/gorilla/mux"

// pageRoutes adds the pages for people.
func (s *Server) pageRoutes(r *mux.Router) {}
