// Package notify carries messages from the outbox to their channels. The
// courier claims what is due under a lease, asks policy once more, has the
// words written, sends, and records how each try ended with its reason.
//
// Nothing is in memory only: a try is recorded as begun before the channel
// is asked and as ended after it has answered, so that a kill at any moment
// loses no message. Between the two nobody can know whether the message went;
// such a try is recorded as in doubt and the message is sent once more under
// the same Message-ID (at least once, with the double visible as such).
//
// A channel says by its errors whether a message should be tried again, never
// be tried again, may have been taken, or whether the channel itself is down.
package notify
