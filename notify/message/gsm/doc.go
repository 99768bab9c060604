// Package gsm knows how a short message is written: the GSM 7-bit default
// alphabet with its extension table, UCS-2 where a text needs more, how many
// parts a text takes and where it may be cut.
//
// Sources: 3GPP TS 23.038 (alphabets, packing; the older names are GSM 03.38
// and ETSI TS 100 900) and 3GPP TS 23.040 clause 9.2.3.24 (user data header,
// concatenation).
//
// A caller that wants one short part first passes its text through Plain,
// which writes what the 7-bit alphabet lacks in a near form.
package gsm
