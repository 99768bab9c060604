// Package smpp is a client of the Short Message Peer-to-Peer protocol, version
// 3.4 (SMPP Developers Forum, issue 1.2, 12-Oct-1999), the open protocol by
// which programs hand text messages to a short message center.
//
// A Client binds as a transceiver, keeps the link alive and up, sends texts
// with Submit (cut into parts where needed), slows down when the center asks
// for it, and hands incoming texts and receipts to a Handler; the center is
// told that one was taken only after the handler has returned without error.
//
// Section numbers in comments are those of the specification.
package smpp
