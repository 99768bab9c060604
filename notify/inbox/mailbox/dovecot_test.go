package mailbox

import (
	"context"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/tls"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/pem"
	"fmt"
	"math/big"
	"net"
	"os"
	"os/exec"
	"os/user"
	"path/filepath"
	"strconv"
	"testing"
	"time"

	"github.com/emersion/go-imap/v2"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
)

// missing skips a test whose peer is not installed; where all must be, it
// fails.
func missing(t *testing.T, what string) {
	t.Helper()
	if os.Getenv("ROUNDSMAN_PEERS") == "all" {
		t.Fatalf("missing: %s", what)
	}
	t.Skipf("install %s to run this test", what)
}

// certificate makes one for 127.0.0.1.
func certificate(t *testing.T, dir string) *x509.CertPool {
	t.Helper()
	key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	require.NoError(t, err)
	tmpl := &x509.Certificate{SerialNumber: big.NewInt(1), Subject: pkix.Name{CommonName: "127.0.0.1"}, IsCA: true, BasicConstraintsValid: true,
		NotBefore: time.Now().Add(-time.Hour), NotAfter: time.Now().Add(time.Hour), IPAddresses: []net.IP{net.IPv4(127, 0, 0, 1)}}
	der, err := x509.CreateCertificate(rand.Reader, tmpl, tmpl, &key.PublicKey, key)
	require.NoError(t, err)
	raw, err := x509.MarshalPKCS8PrivateKey(key)
	require.NoError(t, err)
	write(t, dir, "cert.pem", string(pem.EncodeToMemory(&pem.Block{Type: "CERTIFICATE", Bytes: der})))
	write(t, dir, "key.pem", string(pem.EncodeToMemory(&pem.Block{Type: "PRIVATE KEY", Bytes: raw})))
	pool := x509.NewCertPool()
	cert, err := x509.ParseCertificate(der)
	require.NoError(t, err)
	pool.AddCert(cert)
	return pool
}

func write(t *testing.T, dir, name, text string) {
	t.Helper()
	require.NoError(t, os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644))
}

func freePort(t *testing.T) int {
	t.Helper()
	ln, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	defer func() { _ = ln.Close() }()
	return ln.Addr().(*net.TCPAddr).Port
}

// dovecot is a real IMAP server with its own settings, folders and ports.
type dovecot struct {
	starttls, tls string
	maildir       string
	uid, gid      int
	roots         *x509.CertPool
}

func startDovecot(t *testing.T) dovecot {
	t.Helper()
	program, err := exec.LookPath("dovecot")
	if err != nil {
		program = "/usr/sbin/dovecot"
	}
	if _, err := os.Stat(program); err != nil {
		missing(t, "Dovecot (Debian package dovecot-imapd)")
	}
	nobody, err := user.Lookup("nobody")
	if err != nil || os.Getuid() != 0 {
		missing(t, "Dovecot, and run the test as root: it changes users")
	}
	d := dovecot{}
	d.uid, _ = strconv.Atoi(nobody.Uid)
	d.gid, _ = strconv.Atoi(nobody.Gid)
	dir, err := os.MkdirTemp("", "dovecot") // a short path: sockets lie in it
	require.NoError(t, err)
	t.Cleanup(func() { _ = os.RemoveAll(dir) })
	require.NoError(t, os.Chmod(dir, 0o755))
	d.roots = certificate(t, dir)
	d.maildir = filepath.Join(dir, "mail")
	for _, sub := range []string{"", "new", "cur", "tmp"} {
		require.NoError(t, os.MkdirAll(filepath.Join(d.maildir, sub), 0o700))
		require.NoError(t, os.Chown(filepath.Join(d.maildir, sub), d.uid, d.gid))
	}
	for range 3 { // another program may take a free port first
		if d.listens(t, program, dir) {
			return d
		}
	}
	log, _ := os.ReadFile(filepath.Join(dir, "log"))
	t.Fatalf("dovecot did not start: %s", log)
	return d
}

// listens starts the server on ports that are free and says whether it came up.
func (d *dovecot) listens(t *testing.T, program, dir string) bool {
	t.Helper()
	plainPort, tlsPort := freePort(t), freePort(t)
	d.starttls, d.tls = fmt.Sprintf("127.0.0.1:%d", plainPort), fmt.Sprintf("127.0.0.1:%d", tlsPort)
	write(t, dir, "dovecot.conf", fmt.Sprintf(`
base_dir = %[1]s/run
state_dir = %[1]s/run
log_path = %[1]s/log
protocols = imap
listen = 127.0.0.1
ssl = required
ssl_cert = <%[1]s/cert.pem
ssl_key = <%[1]s/key.pem
mail_location = maildir:%[2]s
first_valid_uid = 1
passdb {
  driver = static
  args = password=pw
}
userdb {
  driver = static
  args = uid=%[3]d gid=%[4]d home=%[1]s
}
service imap-login {
  inet_listener imap {
    port = %[5]d
  }
  inet_listener imaps {
    port = %[6]d
    ssl = yes
  }
}
`, dir, d.maildir, d.uid, d.gid, plainPort, tlsPort))
	cmd := exec.Command(program, "-F", "-c", filepath.Join(dir, "dovecot.conf"))
	require.NoError(t, cmd.Start())
	ended := make(chan struct{})
	go func() {
		defer close(ended)
		_ = cmd.Wait()
	}()
	t.Cleanup(func() {
		_ = cmd.Process.Signal(os.Interrupt)
		select {
		case <-ended:
		case <-time.After(10 * time.Second):
			_ = cmd.Process.Kill()
			<-ended
		}
	})
	for limit := time.After(30 * time.Second); ; {
		if conn, err := net.Dial("tcp", d.tls); err == nil {
			return conn.Close() == nil
		}
		select {
		case <-ended:
			return false
		case <-limit:
			return false
		case <-time.After(50 * time.Millisecond):
		}
	}
}

// Dovecot: over TLS from the first octet and by STARTTLS, and as a mailbox that
// people use too.
func TestDovecot(t *testing.T) {
	d := startDovecot(t)
	n := 0
	contract(t, &IMAP{Addr: d.tls, Security: TLS, User: "desk", Password: "pw", Timeout: 30 * time.Second,
		Config: &tls.Config{RootCAs: d.roots}, Record: record(t), Clock: models.ClockFunc(time.Now)}, func(t *testing.T, raw []byte) {
		n++
		name := filepath.Join(d.maildir, "new", fmt.Sprintf("17%08d.M%d.host", n, n))
		require.NoError(t, os.WriteFile(name, raw, 0o600))
		require.NoError(t, os.Chown(name, d.uid, d.gid))
	})
	t.Run("shared", func(t *testing.T) {
		s := &IMAP{Addr: d.starttls, Security: StartTLS, User: "desk", Password: "pw", Folder: "Shared", Timeout: 30 * time.Second,
			Config: &tls.Config{RootCAs: d.roots}, Record: record(t), Clock: models.ClockFunc(time.Now)}
		c, err := s.dial(t.Context())
		require.NoError(t, err)
		defer func() { _ = c.Close() }()
		require.NoError(t, c.Login("desk", "pw").Wait())
		require.NoError(t, c.Create("Shared", nil).Wait())
		shared(t, s, func(raw []byte, flags ...imap.Flag) {
			cmd := c.Append("Shared", int64(len(raw)), &imap.AppendOptions{Flags: flags})
			_, err := cmd.Write(raw)
			require.NoError(t, err)
			require.NoError(t, cmd.Close())
			_, err = cmd.Wait()
			require.NoError(t, err)
		})
	})
	nothing := func(context.Context, []byte) error { return nil }
	_, err := (&IMAP{Addr: d.tls, User: "desk", Password: "wrong", Timeout: 30 * time.Second, Config: &tls.Config{RootCAs: d.roots}}).Each(t.Context(), nothing)
	assert.ErrorContains(t, err, "refuses the log-in of desk")
	_, err = (&IMAP{Addr: d.tls, User: "desk", Password: "pw", Timeout: 30 * time.Second}).Each(t.Context(), nothing)
	assert.ErrorContains(t, err, "certificate", "an unknown certificate gets no password")
}
