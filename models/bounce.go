package models

// BounceKind is what a report on a sent message means for its address.
type BounceKind string

// Fates.
const (
	FateSoft   BounceKind = "soft"   // it may pass: full, busy, unreachable
	FateRefuse BounceKind = "refuse" // this message was refused; the address is not to blame
	FateDead   BounceKind = "dead"   // there is no such address; nothing sent there will arrive
)

// Bounce is a report that a message did not arrive, written once. An address
// with a dead one is used no more until its contact has agreed anew.
type Bounce struct {
	ID      int64      `gorm:"column:id;primaryKey"`
	Key     string     `gorm:"column:key"` // unique: the report's own id with the address
	At      Instant    `gorm:"column:at"`
	Channel Channel    `gorm:"column:channel"`
	Address string     `gorm:"column:address"`
	Fate    BounceKind `gorm:"column:fate"`
	Code    string     `gorm:"column:code"`  // RFC 3463: "5.1.1"
	Words   string     `gorm:"column:words"` // the server's own
}

// ReceiptFate is what a receipt means for the message that it is about.
type ReceiptFate string

// Fates of receipts. "" is under way, or not known.
const (
	ReceiptDelivered   ReceiptFate = "delivered"
	ReceiptUndelivered ReceiptFate = "undelivered" // it never will be
)

// Receipt is a peer's word on a message that it had taken.
type Receipt struct {
	At      Instant
	PeerIDs []string // the forms in which the peer's id of the message may have been recorded
	Said    string   // for people
	Fate    ReceiptFate
}

// TableName names the table.
func (Bounce) TableName() string { return "bounces" }
