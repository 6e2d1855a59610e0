package inbox

import (
	"fmt"
	"io"
	"net/mail"
	"net/smtp"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func listen(t *testing.T, dir string) *Inbox {
	in, err := Listen("127.0.0.1:0", dir)
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, in.Close()) })
	return in
}

// send uses the standard library's client, which is not the one that the
// program sends with.
func send(in *Inbox, to, id, body string) error {
	return smtp.SendMail(in.Addr(), nil, "beds@ground.example", []string{to},
		fmt.Appendf(nil, "From: beds@ground.example\r\nTo: <%s>\r\nMessage-ID: <%s>\r\nSubject: x\r\n\r\n%s\r\n", to, id, body))
}

func TestKeepsEachMailWhole(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "new", "mail")
	in := listen(t, dir)
	require.NoError(t, send(in, "ada@ground.example", "1@x", "first\r\n.\r\n.dot"))
	require.NoError(t, send(in, "ada@ground.example", "1@x", "again"))
	files, err := in.Files()
	require.NoError(t, err)
	require.Len(t, files, 2)
	assert.Equal(t, filepath.Base(files[0])[6:], filepath.Base(files[1])[6:], "the same Message-ID shows in the name")
	f, err := os.Open(files[0])
	require.NoError(t, err)
	defer f.Close()
	m, err := mail.ReadMessage(f)
	require.NoError(t, err)
	assert.Equal(t, "ada@ground.example", m.Header.Get("Delivered-To"))
	assert.Equal(t, "<beds@ground.example>", m.Header.Get("Return-Path"))
	body, err := io.ReadAll(m.Body)
	require.NoError(t, err)
	assert.Equal(t, "first\n.\n.dot\n", strings.ReplaceAll(string(body), "\r\n", "\n"))
}

func TestGoesOnAfterARestart(t *testing.T) {
	dir := t.TempDir()
	for i := range 3 {
		in, err := Listen("localhost:0", dir)
		require.NoError(t, err)
		require.NoError(t, send(in, "ada@ground.example", fmt.Sprint(i), "x"))
		require.NoError(t, in.Close())
		require.NoError(t, in.Close())
		assert.Error(t, send(in, "ada@ground.example", "late", "x"), "closed")
	}
	files, err := filepath.Glob(filepath.Join(dir, "*"))
	require.NoError(t, err)
	assert.Len(t, files, 3)
}

func TestManyAtOnce(t *testing.T) {
	in := listen(t, t.TempDir())
	var wg sync.WaitGroup
	for i := range 20 {
		wg.Go(func() { assert.NoError(t, send(in, "ada@ground.example", fmt.Sprint(i), strings.Repeat("x", 900))) })
	}
	wg.Wait()
	files, err := in.Files()
	require.NoError(t, err)
	assert.Len(t, files, 20)
}

func TestStrangeMailCannotLeaveTheFolder(t *testing.T) {
	dir := t.TempDir()
	in := listen(t, dir)
	require.NoError(t, smtp.SendMail(in.Addr(), nil, "a@b", []string{"a@b"}, []byte("To: <\"../../etc/x\"@b>\r\nMessage-ID: ../../y\r\n\r\nx")))
	require.NoError(t, smtp.SendMail(in.Addr(), nil, "a@b", []string{"a@b"}, []byte("no header at all")))
	files, err := in.Files()
	require.NoError(t, err)
	assert.Len(t, files, 2)
	for _, f := range files {
		assert.Equal(t, dir, filepath.Dir(f))
	}
}

func TestAFolderThatIsGoneIsATemporaryFailure(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "mail")
	in := listen(t, dir)
	require.NoError(t, os.RemoveAll(dir))
	assert.ErrorContains(t, send(in, "a@b", "1", "x"), "451")
	require.NoError(t, os.MkdirAll(dir, 0o750))
	assert.NoError(t, send(in, "a@b", "1", "x"))
}

func TestRefusesAddressesOthersCanReach(t *testing.T) {
	for _, addr := range []string{"0.0.0.0:0", ":0", "192.0.2.1:25", "nonsense"} {
		_, err := Listen(addr, t.TempDir())
		assert.Error(t, err, addr)
	}
}
