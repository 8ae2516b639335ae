package server

import "relevel/server/watch"

// Vitals returns what the server has in memory now. It asks no store.
func (s *Server) Vitals() watch.Vitals {
	v := watch.Vitals{
		Streams: s.hub.open(), States: s.states.count(), StatesMax: s.states.max,
		Refolds: len(s.refolds), RefoldsMax: cap(s.refolds), Draining: s.leaving.has() || s.closing.Err() != nil,
	}
	if s.signs != nil {
		v.Unsigned, v.UnsignedFor, v.Disagree = s.signs.waits()
	}
	return v
}

// open is how many live streams are open.
func (h *hub) open() (n int) {
	h.mu.Lock()
	defer h.mu.Unlock()
	for _, listeners := range h.firms {
		n += len(listeners)
	}
	return n
}

// count is how many states are kept.
func (s *states) count() int {
	s.mu.Lock()
	defer s.mu.Unlock()
	return len(s.known)
}
