package app

import (
	"context"
	"encoding/base64"
	"fmt"
	"net"
	"net/http"
	"strconv"

	"example.org/roundsman/config"
	"example.org/roundsman/models"
	"example.org/roundsman/models/private"
	"example.org/roundsman/notify"
	"example.org/roundsman/notify/sms"
	"example.org/roundsman/notify/sms/gateway"
	"example.org/roundsman/notify/sms/smpp"
	"example.org/roundsman/notify/spool"
)

// texts is the way texts go out and come in.
type texts struct {
	channel notify.Channel                  // nil: no texts
	run     func(ctx context.Context) error // keeps the session with a message center; nil: there is none
	hook    http.Handler                    // takes what a gateway posts; nil: nothing is taken
}

// texts readies the way of the settings.
func (a *App) texts(clock models.Clock) (texts, error) {
	s := a.Settings.SMS
	in := incoming{a}
	switch s.Kind {
	case "none":
		return texts{}, nil
	case "spool":
		private.TightenFolder(a.Log, s.Spool)
		return texts{channel: spool.Texts(s.Spool)}, nil
	case "smpp":
		parts, err := smpp.NewDirFragments(a.Store.Path() + ".parts")
		if err != nil {
			return texts{}, err
		}
		cfg := smpp.Config{
			Addr: net.JoinHostPort(s.SMPP.Host, strconv.Itoa(s.SMPP.Port)), SystemID: s.SMPP.SystemID,
			Password: s.SMPP.Password.Reveal(), SystemType: s.SMPP.SystemType, Source: s.Sender, Country: s.Country,
			Window: s.SMPP.Window, MaxRate: float64(s.PerMinute) / 60, Patience: s.Timeout.Std(),
			EnquireEvery: s.SMPP.Enquire.Std(), Receipts: true, Clock: clock, Log: a.Log,
			Fragments: parts,
		}
		if s.SMPP.TLS {
			if cfg.TLS, err = trust(s.SMPP.Host, s.SMPP.CA); err != nil {
				return texts{}, err
			}
		}
		ch, err := sms.NewSMPP(cfg, in)
		if err != nil {
			return texts{}, fmt.Errorf("readying the text message center: %w", err)
		}
		return texts{channel: ch, run: ch.Run}, nil
	default:
		return a.gateway(in, clock)
	}
}

// gateway readies an HTTP service for texts.
func (a *App) gateway(in sms.Handler, clock models.Clock) (texts, error) {
	s := a.Settings.SMS.Gateway
	g, err := gateway.New(gatewayConfig(a.Settings.SMS))
	if err != nil {
		return texts{}, fmt.Errorf("readying the text gateway: %w", err)
	}
	out := texts{channel: g}
	if !s.Secret.IsZero() {
		hook := &gateway.Hook{Way: gateway.Way(s.Sign), Signature: s.Header, Secret: []byte(s.Secret.Reveal()),
			Fields:    gateway.Fields{ID: s.HookID, From: s.HookFrom, To: s.HookTo, Text: s.HookText, State: s.HookState},
			Delivered: s.Delivered, Failed: s.Failed, Handler: in, Clock: clock, Log: a.Log}
		if err := hook.Check(); err != nil {
			return texts{}, err
		}
		out.hook = hook
	}
	return out, nil
}

// gatewayConfig gives what the settings say of an HTTP service for texts.
func gatewayConfig(sms config.SMS) gateway.Config {
	s, headers := sms.Gateway, map[string]string{}
	switch {
	case !s.Token.IsZero():
		headers["Authorization"] = "Bearer " + s.Token.Reveal()
	case s.User != "":
		headers["Authorization"] = "Basic " + base64.StdEncoding.EncodeToString([]byte(s.User+":"+s.Password.Reveal()))
	}
	results := map[string]models.Outcome{}
	for outcome, values := range map[models.Outcome][]string{models.OutcomeSent: s.ResultOK,
		models.OutcomeTemporary: s.ResultRetry, models.OutcomeDown: s.ResultDown} {
		for _, v := range values {
			results[v] = outcome
		}
	}
	return gateway.Config{URL: s.URL, Headers: headers, Body: s.Body, Type: s.Type, Sender: sms.Sender,
		IDField: s.ID, ResultField: s.Result, Results: results, WhyField: s.Why, Timeout: sms.Timeout.Std()}
}

// incoming stores what comes in by text.
type incoming struct{ a *App }

// Incoming acts on a text.
func (i incoming) Incoming(ctx context.Context, in sms.Incoming) error {
	text := in.Text
	if in.Binary {
		text = "(not a text)"
	}
	return i.a.Replier.Apply(ctx, models.Reply{Key: "text/" + in.ID, ReceivedAt: models.InstantOf(i.a.Clock.Now()),
		Channel: models.ChannelSMS, From: in.From, To: in.To, Text: text})
}

// Report records the fate of a message that a peer had taken.
func (i incoming) Report(ctx context.Context, r sms.Report) error {
	said := r.State
	if r.ErrorCode != "" {
		said += " (" + r.ErrorCode + ")"
	}
	receipt := models.Receipt{At: models.InstantOf(i.a.Clock.Now()), PeerIDs: r.PeerIDs, Said: said}
	switch {
	case r.Delivered:
		receipt.Fate = models.ReceiptDelivered
	case r.Final:
		receipt.Fate = models.ReceiptUndelivered
	}
	known, err := i.a.Store.RecordReceipt(ctx, receipt)
	if err == nil && !known {
		i.a.Log.Info("a receipt of a message that is not known yet", "peer_ids", r.PeerIDs, "said", said)
	}
	return err
}

// Late records the answer to a try that had already ended in doubt.
func (i incoming) Late(ctx context.Context, l sms.Late) error {
	return i.a.Store.SettleDoubt(ctx, l.Key, l.Taken, l.PeerID, models.InstantOf(i.a.Clock.Now()))
}
