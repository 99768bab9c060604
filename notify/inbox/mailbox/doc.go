// Package mailbox takes answers to mail out of a maildir folder or an IMAP
// mailbox: it finds who wrote, what is new in the words, which message is
// answered, whether a program answered by itself, and whether it is a bounce.
//
// A mail is marked as read only when its handler has stored it. The same mail
// may be handed over twice; its key stays the same.
package mailbox
