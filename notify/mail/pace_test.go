package mail_test

import (
	"bufio"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"example.org/roundsman/models"
	"example.org/roundsman/models/store"
	"example.org/roundsman/notify/mail"
	"example.org/roundsman/notify/mail/mailtest"
	"example.org/roundsman/notify/notifytest"
)

// Whatever the pace of a healthy server, nobody gets a mail twice, over real
// conversations on loopback.
func TestAHealthyServerOfAnyPaceGetsEachMailOnce(t *testing.T) {
	t.Parallel() // it mostly waits
	notifytest.OnceAtAnyPace(t, models.ChannelMail, compose, func(t *testing.T, pace time.Duration) notifytest.PacedPeer {
		server := mailtest.Start(t, mailtest.Options{Pause: pace})
		return notifytest.PacedPeer{Taken: func() []string { return taken(server) },
			Channel: mail.New(mail.Server{Host: server.Host, Port: server.Port, Roots: server.TLS, Hello: "shop.example.org"}, writer())}
	})
}

// A courier that is suspended for 200 seconds, again and again, sends each mail
// once when it wakes.
func TestASuspendedCourierSendsEachMailOnce(t *testing.T) {
	t.Parallel() // it mostly waits
	messages, sleeps := 300, 5
	if testing.Short() {
		messages, sleeps = 60, 1
	}
	path := filepath.Join(t.TempDir(), "storm.db")
	box, err := store.Open(t.Context(), path, store.Options{})
	require.NoError(t, err)
	notifytest.Queue(t.Context(), t, box, models.ChannelMail, 0, messages)
	server := mailtest.Start(t, mailtest.Options{Pause: 20 * time.Millisecond}) // 2 s of the courier's
	require.NoError(t, os.WriteFile(path+".pem", server.PEM(), 0o600))
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), envStorm+"="+path, envStormPort+"="+strconv.Itoa(server.Port),
		envStormFrom+"="+strconv.FormatInt(time.Now().UnixMilli(), 10), envStormFast+"=1")
	cmd.Stderr = os.Stderr
	out, err := cmd.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, cmd.Start())
	_, err = bufio.NewReader(out).ReadString('\n')
	require.NoError(t, err)
	for i := range sleeps {
		require.Eventually(t, func() bool { return len(server.Taken()) > i*messages/(2*sleeps) }, time.Minute, time.Millisecond)
		require.NoError(t, cmd.Process.Signal(syscall.SIGSTOP))
		time.Sleep(200 * time.Second / notifytest.Fast)
		require.NoError(t, cmd.Process.Signal(syscall.SIGCONT))
	}
	require.NoError(t, cmd.Wait())
	notifytest.EachOnce(t, box, taken(server), messages)
	require.NoError(t, box.Close())
}

// taken lists whom a server took mails for.
func taken(server *mailtest.Server) (to []string) {
	for _, m := range server.Taken() {
		to = append(to, m.To)
	}
	return to
}
