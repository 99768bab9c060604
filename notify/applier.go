package notify

import (
	"context"

	"example.org/roundsman/models"
)

// Applier acts on replies. Apply comes back with nil only when the reply and
// all that was done on it are safely stored; the same reply handed over again
// changes nothing.
type Applier interface {
	Apply(ctx context.Context, r models.Reply) error
}
