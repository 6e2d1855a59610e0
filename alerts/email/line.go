package email

import (
	"context"
	"crypto/tls"
	"net"
	"sync"
)

// line is one connection. It is kept apart from the client so that it can be
// cut from outside and is closed on every path; the client leaves it open when
// greeting, STARTTLS or login fail.
type line struct {
	dialer *net.Dialer
	secure bool
	config *tls.Config

	mu     sync.Mutex
	conn   net.Conn
	closed bool
}

func (l *line) dial(ctx context.Context, network, addr string) (net.Conn, error) {
	conn, err := l.dialer.DialContext(ctx, network, addr)
	if err != nil {
		return nil, err
	}
	l.mu.Lock()
	l.conn = conn
	closed := l.closed
	l.mu.Unlock()
	if closed {
		l.close()
		return nil, context.Cause(ctx)
	}
	if !l.secure {
		return conn, nil
	}
	secure := tls.Client(conn, l.config)
	if err := secure.HandshakeContext(ctx); err != nil {
		return nil, err
	}
	return secure, nil
}

func (l *line) close() {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.closed = true
	if l.conn != nil {
		_ = l.conn.Close() // closing twice is harmless
	}
}
