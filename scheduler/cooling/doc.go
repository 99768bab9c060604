// Package cooling is the bench for work on cooling systems: the protection of
// a glycol mixture, what to drain, add and buy, a coolant sensor's resistance
// and bytes, and what a log of an engine warming up says.
//
// Everything here is values in, values out. Temperatures are degrees Celsius,
// volumes liters, strengths percent. A question that no table or measurement
// answers is refused with a [Refusal] that names the reason; nothing is
// extrapolated. The maker's manual comes before any figure of this package.
package cooling
