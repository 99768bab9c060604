package visit

// Prices are stored prices.
type Prices struct{}
