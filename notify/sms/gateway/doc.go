// Package gateway sends texts through an HTTP service, for shops whose
// provider has no message center to bind to: a POST whose body is a template
// of the shop's own, and an http.Handler for what the provider posts back,
// which it must sign.
package gateway
