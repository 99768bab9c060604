package notify

import (
	"context"

	"example.org/roundsman/models"
)

// Outbox is what the courier needs of the store. Each method is one
// transaction.
type Outbox interface {
	// Claim takes up to limit messages of a channel whose time has come, the
	// urgent and then the oldest first, and holds them under the lease.
	Claim(ctx context.Context, l models.Lease, ch models.Channel, limit int) ([]models.Claimed, error)

	// Begin judges a claimed message on the newest facts and records, in the
	// same transaction, what the ruling says: that a try begins, with the
	// words and the address it sends, or why it does not.
	Begin(ctx context.Context, l models.Lease, m models.Claimed, judge func(models.Claimed) models.Ruling) (models.Ruling, error)

	// End records how a try ended and what becomes of its message.
	End(ctx context.Context, l models.Lease, e models.Ended) error

	// Renew holds claimed messages until the lease's end. What another
	// courier holds by now stays its own.
	Renew(ctx context.Context, l models.Lease, ids []int64) error

	// Release puts claimed messages that were not begun back into the queue,
	// not before a time (zero: at once).
	Release(ctx context.Context, l models.Lease, ids []int64, notBefore models.Instant, why models.Reason) error

	// Explain gives the messages of a channel that wait for nothing else the
	// reason why they wait.
	Explain(ctx context.Context, ch models.Channel, now models.Instant, why models.Reason) error

	// Expire takes back what leases that have ended still hold, or, where
	// sole says that no other courier can be alive, whatever anybody but
	// l.By holds. Tries that had begun are recorded as in doubt and come
	// again from doubtUntil on. It gives the numbers of messages put back
	// and of those in doubt.
	Expire(ctx context.Context, l models.Lease, sole bool, doubtUntil models.Instant, why models.Reason) (back, doubts int, err error)
}
