package smpp

import (
	"fmt"

	"example.org/roundsman/models"
)

// Status is a command_status (section 5.1.3).
type Status uint32

// The statuses by name. Numbers 0x400 to 0x4FF are each center's own.
const (
	StatusOK              Status = 0x00
	StatusMessageLength   Status = 0x01
	StatusCommandLength   Status = 0x02
	StatusCommandID       Status = 0x03
	StatusBindState       Status = 0x04
	StatusAlreadyBound    Status = 0x05
	StatusSystemError     Status = 0x08
	StatusSourceAddress   Status = 0x0A
	StatusDestAddress     Status = 0x0B
	StatusMessageID       Status = 0x0C
	StatusBindFailed      Status = 0x0D
	StatusPassword        Status = 0x0E
	StatusSystemID        Status = 0x0F
	StatusQueueFull       Status = 0x14
	StatusSubmitFailed    Status = 0x45
	StatusThrottled       Status = 0x58
	StatusTemporary       Status = 0x64
	StatusPermanent       Status = 0x65
	StatusRejected        Status = 0x66
	StatusQueryFailed     Status = 0x67
	StatusBadTLVs         Status = 0xC0
	StatusDeliveryFailure Status = 0xFE
	StatusUnknown         Status = 0xFF
)

// Class says what a status asks of the sender.
type Class uint8

// Classes. The specification itself calls only 0x64 temporary and 0x65
// permanent; the rest of the split is common practice, no source.
const (
	ClassDone      Class = iota
	ClassTemporary       // try again later
	ClassSlow            // try again, and send more slowly from now on
	ClassAmbiguous       // may pass: a few tries
	ClassPermanent       // this text will never be taken
	ClassNumber          // this number will never be taken
	ClassReconnect       // the session is broken, the message is not to blame
	ClassSettings        // our account or sender is refused: somebody must put it right
)

type statusRow struct {
	name  string
	class Class
}

// statuses names and sorts the codes of section 5.1.3, table 5-2.
var statuses = map[Status]statusRow{
	0x00: {"no error", ClassDone},
	0x01: {"message length is invalid", ClassPermanent},
	0x02: {"command length is invalid", ClassPermanent},
	0x03: {"invalid command", ClassPermanent},
	0x04: {"incorrect bind status for the command", ClassReconnect},
	0x05: {"already bound", ClassReconnect},
	0x06: {"invalid priority flag", ClassPermanent},
	0x07: {"invalid registered delivery flag", ClassPermanent},
	0x08: {"system error", ClassTemporary},
	0x0A: {"invalid source address", ClassSettings},
	0x0B: {"invalid destination address", ClassNumber},
	0x0C: {"message id is invalid", ClassPermanent},
	0x0D: {"bind failed", ClassSettings},
	0x0E: {"invalid password", ClassSettings},
	0x0F: {"invalid system id", ClassSettings},
	0x11: {"cancel failed", ClassPermanent},
	0x13: {"replace failed", ClassPermanent},
	0x14: {"message queue full", ClassTemporary},
	0x15: {"invalid service type", ClassSettings},
	0x33: {"invalid number of destinations", ClassPermanent},
	0x34: {"invalid distribution list name", ClassPermanent},
	0x40: {"invalid destination flag", ClassPermanent},
	0x42: {"invalid submit with replace request", ClassPermanent},
	0x43: {"invalid esm_class", ClassPermanent},
	0x44: {"cannot submit to distribution list", ClassPermanent},
	0x45: {"submit failed", ClassAmbiguous},
	0x48: {"invalid source address type", ClassSettings},
	0x49: {"invalid source numbering plan", ClassSettings},
	0x50: {"invalid destination address type", ClassPermanent},
	0x51: {"invalid destination numbering plan", ClassPermanent},
	0x53: {"invalid system type", ClassSettings},
	0x54: {"invalid replace flag", ClassPermanent},
	0x55: {"invalid number of messages", ClassPermanent},
	0x58: {"too many messages at once", ClassSlow},
	0x61: {"invalid scheduled delivery time", ClassPermanent},
	0x62: {"invalid validity period", ClassPermanent},
	0x63: {"predefined message invalid or not found", ClassPermanent},
	0x64: {"temporary error of the receiver", ClassTemporary},
	0x65: {"permanent error of the receiver", ClassPermanent},
	0x66: {"rejected by the receiver", ClassPermanent},
	0x67: {"query failed", ClassAmbiguous},
	0xC0: {"error in the optional part", ClassPermanent},
	0xC1: {"optional parameter not allowed", ClassPermanent},
	0xC2: {"invalid parameter length", ClassPermanent},
	0xC3: {"expected optional parameter missing", ClassPermanent},
	0xC4: {"invalid optional parameter value", ClassPermanent},
	0xFE: {"delivery failure", ClassAmbiguous},
	0xFF: {"unknown error", ClassAmbiguous},
}

// Class sorts the status. What is not known is ambiguous, except the TON and
// NPI block 0x48..0x51, which is permanent throughout.
func (s Status) Class() Class {
	if row, ok := statuses[s]; ok {
		return row.class
	}
	if s >= 0x48 && s <= 0x51 {
		return ClassPermanent
	}
	return ClassAmbiguous
}

// String gives the meaning in a few words.
func (s Status) String() string {
	if row, ok := statuses[s]; ok {
		return row.name
	}
	return "status " + s.Code()
}

// Code gives the number as it is kept with an attempt, for example "0x58".
func (s Status) Code() string { return fmt.Sprintf("0x%02X", uint32(s)) }

// Outcome gives what the class means for a try.
func (c Class) Outcome() models.Outcome {
	switch c {
	case ClassDone:
		return models.OutcomeSent
	case ClassTemporary, ClassSlow, ClassAmbiguous:
		return models.OutcomeTemporary
	case ClassPermanent, ClassNumber:
		return models.OutcomePermanent
	default:
		return models.OutcomeDown
	}
}

// StatusError is a status other than StatusOK as an error.
type StatusError struct {
	Command Command // the command that was answered
	Status  Status
}

// Error names command, code and meaning.
func (e *StatusError) Error() string {
	return fmt.Sprintf("%s was answered %s (%s)", e.Command, e.Status.Code(), e.Status)
}
