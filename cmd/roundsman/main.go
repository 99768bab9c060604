// Command roundsman keeps a repair shop's rounds: it tracks customers'
// machines by miles and hours, works out what service falls due and tells
// their owners in time.
package main

import (
	"context"
	"os"
	"os/signal"
	"syscall"
	"time"
	_ "time/tzdata" // zones also on hosts that have none

	"example.org/roundsman/models"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	code := run(ctx, host{
		args: os.Args[1:], env: os.Environ(), in: os.Stdin, out: os.Stdout, errs: os.Stderr,
		clock: models.ClockFunc(time.Now),
	})
	stop()
	os.Exit(code)
}
