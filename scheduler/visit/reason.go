package visit

// Reason says in words why an item is in no visit.
type Reason string

// Reasons for leaving an item out.
const (
	ReasonNoDay    Reason = "no open day within its dates"
	ReasonLater    Reason = "not due within the plan; cheaper later"
	ReasonCheaper  Reason = "skipping it costs less than doing it"
	ReasonBlackout Reason = "its machine may not be out on any of its days"
	ReasonTooLong  Reason = "its work does not end within the plan"
	ReasonNoBay    Reason = "no bay takes its class"
	ReasonCapacity Reason = "bays, technicians or limits are used for what costs more to skip"
	ReasonTooMany  Reason = "its machine has more items than can be planned at once"
)

// dropReason says why an item has no day on which doing it can gain.
func (s *shop) dropReason(it *Item) Reason {
	for d := it.first(); d <= it.last(s.days); d++ {
		if d < s.days && s.open[d] > 0 {
			if it.Due >= s.days {
				return ReasonLater
			}
			return ReasonCheaper
		}
	}
	return ReasonNoDay
}
