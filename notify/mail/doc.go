// Package mail writes mails (RFC 5322) and sends them over SMTP (RFC 5321)
// with STARTTLS or TLS, one connection for a batch and one recipient for a
// mail.
//
// Whether a try may be repeated is read from the server's codes (RFC 5321
// section 4.2.1, RFC 3463) in one function; where the line was lost after the
// final dot nobody can know, and the try is in doubt.
package mail
