package notify

import (
	"context"
	"fmt"
	"slices"
	"sync"

	"example.org/roundsman/models"
)

// held keeps which messages a courier has in hand, so that their leases are
// renewed for as long as they are and no longer: however slow a peer is,
// nobody else takes up what this courier is about to send.
type held struct {
	mu  sync.Mutex
	ids map[int64]bool
}

// take notes claimed messages.
func (h *held) take(ms []models.Claimed) {
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.ids == nil {
		h.ids = map[int64]bool{}
	}
	for _, m := range ms {
		h.ids[m.Message.ID] = true
	}
}

// drop forgets messages that are done with, however that ended.
func (h *held) drop(ids ...int64) {
	h.mu.Lock()
	defer h.mu.Unlock()
	for _, id := range ids {
		delete(h.ids, id)
	}
}

func (h *held) list() []int64 {
	h.mu.Lock()
	defer h.mu.Unlock()
	ids := make([]int64, 0, len(h.ids))
	for id := range h.ids {
		ids = append(ids, id)
	}
	slices.Sort(ids)
	return ids
}

// keepLeases renews the leases on what is in hand and takes back those that
// have ended, by one reading of the clock: after a pause of the process or a
// step of the clock every lease seems to have ended, our own too.
func (c *Courier) keepLeases(ctx context.Context) error {
	c.claiming.Lock()
	defer c.claiming.Unlock()
	l := c.lease()
	if ids := c.held.list(); len(ids) > 0 {
		if err := c.box.Renew(keep(ctx), l, ids); err != nil {
			return fmt.Errorf("renewing leases: %w", err)
		}
	}
	return c.expire(ctx, l, false)
}

// claimFor claims the next messages of a lane and notes that they are in hand,
// in one step as keepLeases sees it.
func (c *Courier) claimFor(ctx context.Context, l *channelQueue, size int) ([]models.Claimed, error) {
	c.claiming.Lock()
	defer c.claiming.Unlock()
	ms, err := c.box.Claim(ctx, c.lease(), l.ch.Name(), size)
	if err == nil {
		c.held.take(ms)
	}
	return ms, err
}

// lease makes a lease from now on.
func (c *Courier) lease() models.Lease {
	now := models.InstantOf(c.clock.Now())
	return models.Lease{By: c.by, Now: now, Ends: now.Add(2*c.opts.SendTimeout + leaseMargin)}
}
