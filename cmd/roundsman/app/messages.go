package app

import (
	"context"
	"crypto/tls"
	"crypto/x509"
	"fmt"
	"os"
	"time"

	"example.org/roundsman/config"
	"example.org/roundsman/models"
	"example.org/roundsman/models/private"
	"example.org/roundsman/notify"
	"example.org/roundsman/notify/mail"
	"example.org/roundsman/notify/message"
	"example.org/roundsman/notify/spool"
	"example.org/roundsman/scheduler"
)

// courierLock is the name of the lock that lets one process send messages.
const courierLock = "courier"

// ErrCourierBusy says that another process sends messages at this moment.
var ErrCourierBusy = &models.Error{Code: models.CodeUnavailable,
	Message: "another process sends the messages of this database", Remedy: "stop it, or leave the sending to it"}

// Courier readies the courier with the channels of the settings. It holds the
// lock on sending until release is called.
func (a *App) Courier(clock models.Clock) (c *notify.Courier, release func() error, err error) {
	t, err := a.texts(clock)
	if err != nil {
		return nil, nil, err
	}
	return a.courierWith(clock, t)
}

func (a *App) courierWith(clock models.Clock, t texts) (c *notify.Courier, release func() error, err error) {
	release, ok, err := a.Store.TryLock(courierLock)
	if err != nil {
		return nil, nil, err
	}
	if !ok {
		return nil, nil, ErrCourierBusy
	}
	c, err = a.courier(clock, t)
	if err != nil {
		return nil, nil, fmt.Errorf("readying the courier: %w", firstOf(err, release()))
	}
	return c, release, nil
}

// firstOf gives the first error that is one.
func firstOf(errs ...error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

func (a *App) courier(clock models.Clock, t texts) (*notify.Courier, error) {
	s := a.Settings
	templates, err := a.templates()
	if err != nil {
		return nil, err
	}
	shop := shopOf(s)
	shop.OneWay = s.SMS.Kind == "gateway" && t.hook == nil
	c := notify.New(a.Store, clock, withCalendar(func(e models.Envelope) (models.Composed, error) {
		own := shop
		own.Page = a.pageOf(e.Message)
		return templates.Compose(own, e)
	}),
		notify.Options{
			Waits:  waits(s.Messages.RetryFirst.Std(), s.Messages.RetryMost.Std()),
			GiveUp: s.Messages.RetryFor.Std(), SendTimeout: max(s.Mail.Timeout.Std(), s.SMS.Timeout.Std()),
			Shop: a.Runner.Notify, Sole: true, Log: a.Log,
			Alarm: func(ctx context.Context, s notify.Status, why models.Reason) error {
				return a.alarm(ctx, s.Channel, why)
			},
		})
	mailChannel, err := a.mailChannel(clock)
	if err != nil {
		return nil, err
	}
	c.Add(mailChannel, limits(s.Mail.Parallel, s.Mail.PerMinute, s.Mail.Host == ""))
	if t.channel != nil {
		parallel := 1
		if s.SMS.Kind == "smpp" { // answers come in any order: keep the window filled
			parallel = min(s.SMS.SMPP.Window, mostTexts)
		}
		c.Add(t.channel, limits(parallel, s.SMS.PerMinute, s.SMS.Kind == "spool"))
	}
	return c, nil
}

// alarm tells the shop once a day that a channel does not work, by another way.
func (a *App) alarm(ctx context.Context, ch models.Channel, why models.Reason) error {
	m := scheduler.ChannelDown(a.Runner.Notify, a.Clock.Now(), ch, why)
	if m == nil {
		return nil
	}
	_, err := a.Store.QueueMessage(ctx, *m)
	if models.CodeOf(err) == models.CodeConflict {
		return nil // it was told today
	}
	return err
}

// withCalendar keeps the calendar part that a mail on a visit was queued with:
// the words are written when the message goes, the entry when it was agreed.
func withCalendar(compose func(models.Envelope) (models.Composed, error)) func(models.Envelope) (models.Composed, error) {
	return func(e models.Envelope) (models.Composed, error) {
		c, err := compose(e)
		c.Calendar = e.Message.Composed.Calendar
		return c, err
	}
}

// templates gives the shop's message templates over those that come with the
// program, each tried out.
func (a *App) templates() (*message.Templates, error) {
	if dir := a.Settings.Messages.Templates; dir != "" {
		return message.Load(os.DirFS(dir), dir)
	}
	return message.Load(nil, "")
}

// shopOf gives what messages say of the shop.
func shopOf(s config.Settings) message.Shop {
	reply := s.Shop.ReplyTo
	if reply == "" {
		reply = s.Shop.MailFrom
	}
	shop := message.Shop{Name: s.Shop.Name, Phone: s.Shop.Phone, Address: s.Shop.Address, Mail: reply, Language: s.Shop.Language, Distance: models.DriverMiles, BringAt: s.Plan.BringAt}
	if s.Shop.Units.Distance == "km" {
		shop.Distance = models.DriverKM
	}
	return shop
}

// waits doubles the wait from the first to the longest.
func waits(first, most time.Duration) []time.Duration {
	out := []time.Duration{first}
	for w := first * 2; w < most; w *= 2 {
		out = append(out, w)
	}
	return append(out, most)
}

// mostTexts bounds the batches of texts that are sent side by side.
const mostTexts = 8

// limits gives a channel's limits; a folder needs none.
func limits(parallel, perMinute int, folder bool) notify.Limits {
	if folder {
		return notify.Limits{Parallel: 1}
	}
	return notify.Limits{Parallel: parallel, PerSecond: float64(perMinute) / 60}
}

// trust gives the terms of an encrypted line to a host: certificates of a
// private authority in a PEM file, or of those that this host trusts.
func trust(host, caFile string) (*tls.Config, error) {
	c := &tls.Config{ServerName: host, MinVersion: tls.VersionTLS12}
	if caFile == "" {
		return c, nil
	}
	raw, err := os.ReadFile(caFile)
	c.RootCAs = x509.NewCertPool()
	if err != nil || !c.RootCAs.AppendCertsFromPEM(raw) {
		return nil, &models.Error{Code: models.CodeInvalid, Message: "no certificate of an authority can be read from " + caFile, Err: err,
			Remedy: "give the file with the authority's certificate in PEM form as ca"}
	}
	return c, nil
}

func (a *App) mailChannel(clock models.Clock) (notify.Channel, error) {
	s := a.Settings
	w := &mail.Writer{Name: s.Shop.Name, Address: s.Shop.MailFrom, ReplyTo: s.Shop.ReplyTo, Clock: clock, Envelope: s.Mail.BounceAddress, Unsubscribe: a.stopLink}
	if d := s.Mail.DKIM; d.Domain != "" {
		signing, err := mail.NewSigning(d.Domain, d.Selector, d.Key.Reveal())
		if err != nil {
			return nil, err
		}
		w.Signing = signing
	}
	if s.Mail.Host == "" {
		private.TightenFolder(a.Log, s.Mail.Spool)
		return spool.Mail(s.Mail.Spool, w.Bytes), nil
	}
	roots, err := trust(s.Mail.Host, s.Mail.CA)
	if err != nil {
		return nil, err
	}
	return mail.New(mail.Server{
		Roots: roots,
		Host:  s.Mail.Host, Port: s.Mail.Port, TLS: mail.TLS(s.Mail.TLS), User: s.Mail.User,
		Password: s.Mail.Password.Reveal(), Hello: s.Mail.Hello, Timeout: s.Mail.Timeout.Std(),
	}, w), nil
}

// textChannel gives the channel for texts, nil for none.
