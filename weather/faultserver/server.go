package faultserver

import (
	"context"
	"fmt"
	"net"
	"net/http"
	"sync"
	"time"
)

// Server listens on the loopback address. It is safe for concurrent use.
type Server struct {
	now  func() time.Time
	addr string

	mu       sync.Mutex
	fault    Fault
	requests int
	bytes    int64
	srv      *http.Server
	places   int
	spread   float64 // of the ensemble's runs, 1 at the start
}

// Start returns a running server whose weather is that of now. Stop it at the
// end.
func Start(now func() time.Time) (*Server, error) {
	s := &Server{now: now, addr: "127.0.0.1:0", spread: 1}
	return s, s.Resume()
}

// URL returns the address of a path, as "/v1/forecast".
func (s *Server) URL(path string) string { return "http://" + s.addr + path }

// Stop closes the port: from now on connections are refused.
func (s *Server) Stop() error {
	s.mu.Lock()
	srv := s.srv
	s.srv = nil
	s.mu.Unlock()
	if srv == nil {
		return nil
	}
	ctx, cancel := context.WithTimeout(context.Background(), time.Second)
	defer cancel()
	if err := srv.Shutdown(ctx); err != nil {
		return srv.Close()
	}
	return nil
}

// Resume opens the port again, the same one as before.
func (s *Server) Resume() error {
	l, err := net.Listen("tcp", s.addr)
	if err != nil {
		return fmt.Errorf("fault server: %w", err)
	}
	srv := &http.Server{Handler: s, ReadHeaderTimeout: 10 * time.Second}
	s.mu.Lock()
	s.addr, s.srv = l.Addr().String(), srv
	s.mu.Unlock()
	go func() { _ = srv.Serve(l) }() // ends with Stop
	return nil
}

// Set makes the server misbehave, or, with None, behave.
func (s *Server) Set(f Fault) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.fault = f
}

// SetSpread moves the runs of the ensemble apart by so many times what they are at
// the start.
func (s *Server) SetSpread(times float64) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.spread = times
}

// Counts returns the requests, the places asked for in them, and the bytes of
// the bodies sent, since the start.
func (s *Server) Counts() (requests, places int, bytes int64) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.requests, s.places, s.bytes
}

// ServeHTTP answers /v1/forecast, /v1/archive and /v1/ensemble.
func (s *Server) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	s.mu.Lock()
	f := s.fault
	s.requests++
	s.mu.Unlock()
	good := http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) { s.answer(f, w, r) })
	if !misbehave(f, w, r, good) {
		good(w, r)
	}
}
