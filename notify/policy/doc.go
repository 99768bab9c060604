// Package policy decides whether a message may go to a contact, over which
// channel, and when: consent, stops, preferred channel and fall-back, quiet
// hours in the contact's own zone, Sundays and holidays, growing gaps while
// nobody answers, and the call list in the end.
//
// Every decision, also one not to send, carries a named reason that is
// stored, logged and shown as it is. The package is pure: what it decides
// depends on the values of the question alone.
package policy
