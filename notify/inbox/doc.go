// Package inbox reads what people answer: a meter value thumbed into a phone,
// "it's back", "sold it", STOP. Read takes a text and what is known of its
// sender, and gives what is to be done: acts, a question to ask back once, or
// the reason why a person must look. It never guesses: what can mean two
// things is asked, and what cannot be read goes to a person.
//
// The package is pure. Where replies come from is the business of the
// packages beside and below it.
package inbox
