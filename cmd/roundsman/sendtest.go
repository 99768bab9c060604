package main

import (
	"errors"
	"fmt"

	"example.org/roundsman/cmd/roundsman/app"
	"example.org/roundsman/models"
	"example.org/roundsman/scheduler"
)

type sendTestCmd struct {
	To   string `arg:"" help:"Mail address or mobile number to send to."`
	Lang string `help:"Language of the message: en or es (default: the shop's)." placeholder:"LANG"`
}

func (sendTestCmd) Help() string {
	return `Sends one test message now, over the channel of the address, and says what the mail server or text service answered. The service must not be running on the same database.

Example:
  roundsman send-test you@example.com
  roundsman send-test +12025550123`
}

func (cmd sendTestCmd) Run(c *call) error {
	l, err := c.settings()
	if err != nil {
		return err
	}
	ch, to, err := senderOf("the receiver", cmd.To, l.Settings.Shop.Country)
	if err != nil {
		return err
	}
	return c.with(func(a *app.App) error {
		now := models.InstantOf(c.clock.Now())
		m, _ := scheduler.Address(a.Runner.Notify, c.clock.Now(), models.Owner{}, models.Person{}, models.Message{
			Key: fmt.Sprintf("test/%s/%d", to, c.clock.Now().UnixNano()), Channel: ch, Address: to, Purpose: models.PurposeTest,
			Language: cmd.Lang, Urgent: true})
		id, err := a.Store.QueueMessage(c.ctx, m)
		if err != nil {
			return err
		}
		courier, release, err := a.Courier(c.clock)
		if err != nil {
			return errors.Join(err, a.Store.DropMessage(c.ctx, id, now))
		}
		_, err = courier.Drain(c.ctx)
		if err = errors.Join(err, release()); err != nil {
			return err
		}
		return tellTest(c, a, id)
	})
}

// tellTest says what became of the test message; one that did not go is taken
// out again.
func tellTest(c *call, a *app.App, id int64) error {
	logs, err := a.Store.Messages(c.ctx, messageOf(id))
	if err != nil {
		return err
	}
	m := logs[0].Message
	answer := string(m.Why)
	if n := len(logs[0].Attempts); n > 0 {
		last := logs[0].Attempts[n-1]
		answer = attemptWords(last)
	}
	if m.State == models.MessageSent {
		fmt.Fprintf(c.out, "Sent to %s: %s\n", m.Address, answer)
		return nil
	}
	if m.State == models.MessageQueued {
		err = a.Store.DropMessage(c.ctx, id, models.InstantOf(c.clock.Now()))
	}
	return errors.Join(models.Errorf(models.CodeUnavailable, "check the settings of the channel and try again", "not sent to %s: %s", m.Address, answer), err)
}
