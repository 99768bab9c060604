package mail_test

import (
	"crypto/tls"
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	gomail "github.com/wneessen/go-mail"

	"example.org/roundsman/models"
	"example.org/roundsman/notify"
	"example.org/roundsman/notify/mail"
	"example.org/roundsman/notify/mail/mailtest"
	"example.org/roundsman/notify/message"
	"example.org/roundsman/notify/notifytest"
)

// paceMessages is how many messages each side sends in one measurement.
const paceMessages = 2000

// BenchmarkPace sends the same number of the same mails to the same server in
// a bare loop over the library and by the courier from its outbox, and gives
// messages a second of both and their ratio. The courier's share holds
// composing, policy, and two recordings for each message.
//
// One server takes 2 ms over each mail, as one does that flushes it to disk
// before it takes it (RFC 5321 section 6.1); a Postfix on the loopback takes
// several times as long. The other answers at once and out of memory, as no
// real one does: it shows all of the courier's own work and gives it nothing
// to hide in.
func BenchmarkPace(b *testing.B) {
	for _, connections := range []int{1, 2} {
		for _, pause := range []time.Duration{2 * time.Millisecond, 0} {
			b.Run(fmt.Sprintf("connections %d, server takes %v", connections, pause), func(b *testing.B) {
				pace(b, mailtest.Options{Pause: pause}, connections)
			})
		}
	}
}

func pace(b *testing.B, o mailtest.Options, parallel int) {
	server := mailtest.Start(b, o)
	var bare, ours time.Duration
	for b.Loop() {
		bare += bareLoop(b, server)
		ours += courierLoop(b, server, parallel)
	}
	n := float64(b.N) * paceMessages
	b.ReportMetric(n/bare.Seconds(), "bare_msg/s")
	b.ReportMetric(n/ours.Seconds(), "courier_msg/s")
	b.ReportMetric(bare.Seconds()/ours.Seconds(), "ratio")
}

// bareLoop sends mails with nothing around the library: the same words, the
// same headers, a fresh connection after a hundred.
func bareLoop(b *testing.B, server *mailtest.Server) time.Duration {
	b.Helper()
	e := message.Samples(models.PurposeNotices, "en", models.ChannelMail)[0]
	c, err := message.Compose(message.Shop{Name: "Juniper Creek Service"}, e)
	require.NoError(b, err)
	begun := time.Now()
	var client *gomail.Client
	for i := range paceMessages {
		if i%100 == 0 {
			if client != nil {
				require.NoError(b, client.Close())
			}
			client, err = gomail.NewClient(server.Host, gomail.WithPort(server.Port), gomail.WithHELO("shop.example.org"),
				gomail.WithTLSConfig(&tls.Config{RootCAs: server.TLS.RootCAs, ServerName: server.Host, MinVersion: tls.VersionTLS12}),
				gomail.WithoutNoop())
			require.NoError(b, err)
			require.NoError(b, client.DialWithContext(b.Context()))
		}
		m := gomail.NewMsg(gomail.WithNoDefaultUserAgent())
		require.NoError(b, m.FromFormat("Juniper Creek Service", "desk@example.org"))
		require.NoError(b, m.AddToFormat("Ana", notifytest.Contact(i).Mail))
		m.Subject(c.Subject)
		m.SetMessageID()
		m.SetDate()
		m.SetBodyString(gomail.TypeTextPlain, c.Text)
		m.AddAlternativeString(gomail.TypeTextHTML, c.HTML)
		require.NoError(b, client.Send(m))
	}
	require.NoError(b, client.Close())
	return time.Since(begun)
}

// courierLoop has the courier send as many from its outbox.
func courierLoop(b *testing.B, server *mailtest.Server, parallel int) time.Duration {
	b.Helper()
	box := notifytest.Outbox(b)
	for first := 0; first < paceMessages; first += 500 {
		notifytest.Queue(b.Context(), b, box, models.ChannelMail, first, 500)
	}
	clock := notifytest.NewClock(notifytest.Noon)
	shop := message.Shop{Name: "Juniper Creek Service"}
	c := notify.New(box, clock, func(e models.Envelope) (models.Composed, error) { return message.Compose(shop, e) },
		notify.Options{Batch: 100})
	c.Add(mail.New(mail.Server{Host: server.Host, Port: server.Port, Roots: server.TLS, Hello: "shop.example.org"}, writer()), notify.Limits{Parallel: parallel})
	begun := time.Now()
	t, err := c.Drain(b.Context())
	require.NoError(b, err)
	require.Equal(b, paceMessages, t.Sent)
	return time.Since(begun)
}
