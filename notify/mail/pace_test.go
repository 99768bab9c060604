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
	"example.org/roundsman/notify"
	"example.org/roundsman/notify/mail"
	"example.org/roundsman/notify/mail/mailtest"
	"example.org/roundsman/notify/notifytest"
)

// Whatever the pace of a healthy server, nobody gets a mail twice, over real
// conversations on loopback.
func TestAHealthyServerOfAnyPaceGetsEachMailOnce(t *testing.T) {
	messages, paces := 1000, []time.Duration{0, 1500 * time.Millisecond, 2500 * time.Millisecond, 20 * time.Second}
	if testing.Short() { // all of it takes some 40 seconds
		messages, paces = 100, paces[1:2]
	}
	for _, pace := range paces {
		t.Run(pace.String(), func(t *testing.T) {
			t.Parallel()
			server := mailtest.Start(t, mailtest.Options{Pause: pace / notifytest.Fast})
			box := notifytest.Outbox(t)
			for first := 0; first < messages; first += 500 {
				notifytest.Queue(t.Context(), t, box, models.ChannelMail, first, min(500, messages-first))
			}
			c := notify.New(box, notifytest.FastClock(time.Now()), compose, notify.Options{Poll: 50 * time.Millisecond, Sole: true})
			c.Add(mail.New(mail.Server{Host: server.Host, Port: server.Port, Roots: server.TLS, Hello: "shop.example.org"}, writer()), notify.Limits{Parallel: 8})
			require.NoError(t, notifytest.RunUntilEmpty(t.Context(), box, c))
			eachOnce(t, box, server, messages)
		})
	}
}

// A courier that is suspended for 200 seconds, again and again, sends each mail
// once when it wakes.
func TestASuspendedCourierSendsEachMailOnce(t *testing.T) {
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
	eachOnce(t, box, server, messages)
	require.NoError(t, box.Close())
}

// eachOnce sees that every message has arrived, once, and that nothing else is
// on record.
func eachOnce(t *testing.T, box *store.Store, server *mailtest.Server, messages int) {
	t.Helper()
	var to []string
	for _, m := range server.Taken() {
		to = append(to, m.To)
	}
	notifytest.EachOnce(t, box, to, messages)
}
