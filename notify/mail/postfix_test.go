package mail_test

import (
	"crypto/tls"
	"crypto/x509"
	"encoding/pem"
	"fmt"
	"net"
	"os"
	"os/exec"
	"os/user"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
	"example.org/roundsman/notify"
	"example.org/roundsman/notify/mail"
	"example.org/roundsman/notify/mail/mailtest"
)

const postfixMain = `compatibility_level = 3.6
queue_directory = %[1]s/spool
data_directory = %[1]s/data
maillog_file = %[1]s/log
maillog_file_prefixes = %[1]s
inet_interfaces = 127.0.0.1
inet_protocols = ipv4
myhostname = localhost
mydestination =
virtual_mailbox_domains = example.com
virtual_mailbox_base = %[1]s/boxes
virtual_mailbox_maps = inline:{ good@example.com=good/, temp@example.com=temp/, perm@example.com=perm/ }
virtual_uid_maps = static:%[2]s
virtual_gid_maps = static:%[3]s
virtual_minimum_uid = 1
smtpd_tls_cert_file = %[1]s/cert.pem
smtpd_tls_key_file = %[1]s/key.pem
smtpd_tls_security_level = encrypt
smtpd_recipient_restrictions = check_recipient_access inline:{ {temp@example.com = 450 4.2.1 busy}, {perm@example.com = 550 5.1.1 nobody} }, reject_unauth_destination
`

const postfixMaster = `127.0.0.1:%d inet n - n - - smtpd
pickup unix n - n 60 1 pickup
cleanup unix n - n - 0 cleanup
qmgr unix n - n 300 1 qmgr
tlsmgr unix - - n 1000? 1 tlsmgr
rewrite unix - - n - - trivial-rewrite
bounce unix - - n - 0 bounce
defer unix - - n - 0 bounce
trace unix - - n - 0 bounce
proxymap unix - - n - - proxymap
virtual unix - n n - - virtual
error unix - - n - - error
retry unix - - n - - error
anvil unix - - n - 1 anvil
postlog unix-dgram n - n - 1 postlogd
`

// postfix starts a Postfix of its own on the loopback. It gives its port, the
// folder of its mailboxes and what trusts it.
func postfix(t *testing.T) (port int, boxes string, trust *tls.Config) {
	t.Helper()
	program, err := exec.LookPath("postfix")
	who, werr := user.Lookup("postfix")
	if err != nil || werr != nil || os.Getuid() != 0 {
		if os.Getenv("ROUNDSMAN_PEERS") == "all" {
			t.Fatal("Postfix is missing, or this is not root (Debian package postfix)")
		}
		t.Skip("Postfix is missing, or this is not root (Debian package postfix)")
	}
	dir, err := os.MkdirTemp("", "postfix") // short: Postfix binds sockets in it
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, os.RemoveAll(dir)) })
	require.NoError(t, os.Chmod(dir, 0o755))
	uid, err := strconv.Atoi(who.Uid)
	require.NoError(t, err)
	for _, sub := range []string{"etc", "spool", "data", "boxes"} {
		require.NoError(t, os.Mkdir(filepath.Join(dir, sub), 0o755))
	}
	for _, sub := range []string{"data", "boxes"} {
		require.NoError(t, os.Chown(filepath.Join(dir, sub), uid, -1))
	}
	cert, pool := mailtest.Certificate(t)
	key, err := x509.MarshalPKCS8PrivateKey(cert.PrivateKey)
	require.NoError(t, err)
	write := func(name string, body []byte) {
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), body, 0o600))
	}
	write("cert.pem", pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: cert.Certificate[0]}))
	write("key.pem", pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: key}))
	write("etc/main.cf", fmt.Appendf(nil, postfixMain, dir, who.Uid, who.Gid))
	conf := filepath.Join(dir, "etc")
	for _, name := range []string{"postfix-files", "dynamicmaps.cf"} {
		b, err := os.ReadFile(filepath.Join("/etc/postfix", name))
		if err == nil {
			write("etc/"+name, b)
		}
	}
	require.NoError(t, os.Chmod(filepath.Join(conf, "main.cf"), 0o644))
	var out []byte
	for range 3 { // another program may take the free port first
		port = freePort(t)
		write("etc/master.cf", fmt.Appendf(nil, postfixMaster, port))
		if out, err = exec.CommandContext(t.Context(), program, "-c", conf, "start").CombinedOutput(); err == nil {
			break
		}
	}
	require.NoError(t, err, string(out))
	t.Cleanup(func() {
		if out, err := exec.Command(program, "-c", conf, "stop").CombinedOutput(); err != nil {
			t.Logf("stopping Postfix: %v: %s", err, out)
		}
	})
	return port, filepath.Join(dir, "boxes"), &tls.Config{RootCAs: pool, MinVersion: tls.VersionTLS12}
}

// freePort gives a port that is free at this moment: Postfix cannot choose one.
func freePort(t *testing.T) int {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	addr, ok := l.Addr().(*net.TCPAddr)
	require.True(t, ok)
	require.NoError(t, l.Close())
	return addr.Port
}

// A mail server that others run, with encryption: what it takes arrives whole
// in the mailbox, and its refusals are understood.
func TestPostfix(t *testing.T) {
	t.Parallel() // it mostly waits
	port, boxes, trust := postfix(t)
	c := mail.New(mail.Server{Host: "127.0.0.1", Port: port, Roots: trust, Hello: "shop.example.org", Timeout: 20 * time.Second}, writer())
	var session notify.Session
	require.Eventually(t, func() bool {
		var err error
		session, err = c.Open(t.Context())
		return err == nil
	}, 30*time.Second, 100*time.Millisecond)
	for range 3 {
		r, err := session.Send(t.Context(), letter("good@example.com"))
		require.NoError(t, err)
		assert.Contains(t, r.Code, "2.0.0")
		assert.Regexp(t, `^[0-9A-Za-z]{6,}$`, r.PeerID, "the server's own queue id")
	}
	for address, want := range map[string]notify.SendError{
		"temp@example.com":  {Outcome: models.OutcomeTemporary, Code: "450 4.2.1"},
		"perm@example.com":  {Outcome: models.OutcomePermanent, Code: "550 5.1.1"},
		"other@example.com": {Outcome: models.OutcomePermanent, Code: "550 5.1.1"},
		"relay@example.net": {Outcome: models.OutcomePermanent, Code: "554 5.7.1"},
	} {
		_, err := session.Send(t.Context(), letter(address))
		var e *notify.SendError
		require.ErrorAs(t, err, &e, address)
		assert.Equal(t, want.Outcome, e.Outcome, e.Error())
		assert.Equal(t, want.Code, e.Code)
	}
	_, err := session.Send(t.Context(), letter("good@example.com"))
	require.NoError(t, err, "the refusals leave the session usable")
	require.NoError(t, session.Close())
	var arrived []string
	require.Eventually(t, func() bool {
		arrived, err = filepath.Glob(filepath.Join(boxes, "good", "new", "*"))
		return err == nil && len(arrived) == 4
	}, 30*time.Second, 100*time.Millisecond)
	b, err := os.ReadFile(arrived[0])
	require.NoError(t, err)
	assert.Contains(t, string(b), "Auto-Submitted: auto-generated\n")
	assert.Contains(t, string(b), "Return-Path: <bounce+7-nlxoxhbs@example.org>\n")
	assert.True(t, strings.Contains(string(b), "\n.\n"), "a dot alone on its line is still one")
}
