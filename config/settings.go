package config

import "example.org/roundsman/models"

// Settings is everything a shop can set. The tags are those of field; every
// key has a default, so that the program runs without any file.
type Settings struct {
	Rules    string   `toml:"rules" path:"file"` // the rules file; "" is the rules that come with the program
	Shop     Shop     `toml:"shop"`
	Database Database `toml:"database"`
	Rounds   Rounds   `toml:"rounds"`
	Plan     Plan     `toml:"plan"`
	Messages Messages `toml:"messages"`
	Mail     Mail     `toml:"mail"`
	SMS      SMS      `toml:"sms"`
	Inbox    Inbox    `toml:"inbox"`
	Web      Web      `toml:"web"`
	Log      Log      `toml:"log"`
}

// Shop is who the messages come from.
type Shop struct {
	Name        string        `toml:"name" max:"30"` // texts begin with it
	TimeZone    Zone          `toml:"time_zone"`     // of the rounds, and of owners without one
	Language    string        `toml:"language" oneof:"en|es"`
	Country     string        `toml:"country" check:"country"`     // ISO 3166-1 alpha-2: whose telephone numbers are written without a country code
	Phone       string        `toml:"phone" check:"phone"`         // shown to owners; "" shows none
	Address     string        `toml:"address" max:"200"`           // by post, on one line; mails to owners end with it
	AlertMobile string        `toml:"alert_mobile" check:"mobile"` // gets a text when mail does not work; "" gets none
	MailFrom    string        `toml:"mail_from" check:"mail"`
	ReplyTo     string        `toml:"reply_to" check:"mail"` // "" is mail_from
	Holidays    string        `toml:"holidays" oneof:"us|ca|gb|mx|none"`
	ClosedOn    []models.Date `toml:"closed_on"` // the shop's own holidays
	Units       Units         `toml:"units"`
}

// Units are those of pages and messages. Files and the database keep their own.
type Units struct {
	Distance    string `toml:"distance" oneof:"mi|km"`
	Volume      string `toml:"volume" oneof:"qt|l"`
	Temperature string `toml:"temperature" oneof:"f|c"`
}

// Database is where the facts are kept: a SQLite file, or the DSN of a
// database server.
type Database struct {
	Path    string `toml:"path" path:"file"`
	DSN     Secret `toml:"dsn"` // it may hold a password; set: path is not used
	DSNFile string `toml:"dsn_file" path:"file"`
}

// Rounds says when the service looks at what has changed.
type Rounds struct {
	At      []models.TimeOfDay `toml:"at"`                        // local times of the shop
	MaxDays int                `toml:"max_days" min:"1" max:"60"` // a missed round is made up within so many days
}

// Plan is what the downtime plan goes by. Money is whole cents.
type Plan struct {
	OpenMinutes    []int            `toml:"open_minutes" min:"0" max:"1440"` // that each bay is open, Monday to Sunday; 0 is closed
	Bays           int              `toml:"bays" min:"1" max:"500"`          // while none are recorded
	Technicians    int              `toml:"technicians" min:"1" max:"500"`   // while none are recorded
	Days           int              `toml:"days" min:"1" max:"730"`          // how far ahead plans reach
	Calendar       string           `toml:"calendar" oneof:"days|times"`     // what calendar entries are of: whole days, or times from bring_at on
	BringAt        models.TimeOfDay `toml:"bring_at"`                        // when machines are brought on their first day
	LaborCents     int              `toml:"labor_cents" min:"0" max:"1000000"`
	PartsCents     int              `toml:"parts_cents" min:"0" max:"1000000"`
	TransportCents int              `toml:"transport_cents" min:"0" max:"10000000"`
	DowntimeCents  int              `toml:"downtime_cents" min:"0" max:"10000000"`
	LateCents      int              `toml:"late_cents" min:"1" max:"100000"`
	MoveCents      int              `toml:"move_cents" min:"0" max:"1000000"`
}

// Messages says when owners may be written to, and how often.
type Messages struct {
	QuietFrom  models.TimeOfDay `toml:"quiet_from"` // the same as quiet_to: no quiet hours
	QuietTo    models.TimeOfDay `toml:"quiet_to"`
	OnSundays  bool             `toml:"on_sundays"`
	OnHolidays bool             `toml:"on_holidays"`
	GapDays    []int            `toml:"gap_days" min:"0" max:"90"`      // days to the next message after 1, 2, ... without an answer; the last goes on
	GiveUp     int              `toml:"give_up" min:"1" max:"20"`       // after so many without an answer: the call list
	RestDays   int              `toml:"rest_days" min:"1" max:"365"`    // an address where a message was refused or came back is left alone for so long
	Templates  string           `toml:"templates" path:"file"`          // folder of the shop's own message templates; "" is those that come with the program
	RetryFirst Duration         `toml:"retry_first" min:"10s" max:"1d"` // from the first failed try to send to the next; then longer each time
	RetryMost  Duration         `toml:"retry_most" min:"1m" max:"1d"`   // the longest wait between two tries
	RetryFor   Duration         `toml:"retry_for" min:"1h" max:"30d"`   // a message that could not be sent for so long has failed
}

// Mail is the way mail goes out.
type Mail struct {
	Host         string `toml:"host" check:"host"` // "" writes mail into the spool folder
	Port         int    `toml:"port" min:"1" max:"65535"`
	TLS          string `toml:"tls" oneof:"starttls|tls|none"`
	User         string `toml:"user" max:"254"` // "" logs in nowhere
	Password     Secret `toml:"password"`
	PasswordFile string `toml:"password_file" path:"file"`
	Spool        string `toml:"spool" path:"file"`
	Hello        string `toml:"hello" check:"domain"` // name given in EHLO; "" is the host's own
	CA           string `toml:"ca" path:"file"`       // PEM of a private authority that the server's certificate is of; "" is the host's own list

	// BounceAddress is where reports of mail that does not arrive are sent, the
	// envelope sender (RFC 5321, 3.3); {id} in it names the mail. "" is mail_from.
	BounceAddress string   `toml:"bounce_address" check:"mail"`
	Timeout       Duration `toml:"timeout" min:"1s" max:"10m"`
	PerMinute     int      `toml:"per_minute" min:"1" max:"6000"`
	Parallel      int      `toml:"parallel" min:"1" max:"16"` // connections at a time
	DKIM          DKIM     `toml:"dkim"`
}

// DKIM signs mail (RFC 6376). No domain signs nothing.
type DKIM struct {
	Domain   string `toml:"domain" check:"domain"`
	Selector string `toml:"selector" check:"host"`
	Key      Secret `toml:"key"` // PEM
	KeyFile  string `toml:"key_file" path:"file"`
}

// SMS is the way texts go out.
type SMS struct {
	Kind      string   `toml:"kind" oneof:"none|spool|smpp|gateway"`
	Sender    string   `toml:"sender" check:"sender"` // number, short code or name
	Country   string   `toml:"country" max:"3"`       // calling code put before national numbers that come in
	Spool     string   `toml:"spool" path:"file"`
	PerMinute int      `toml:"per_minute" min:"1" max:"60000"`
	Timeout   Duration `toml:"timeout" min:"1s" max:"10m"`
	SMPP      SMPP     `toml:"smpp"`
	Gateway   Gateway  `toml:"gateway"`
}

// SMPP is a message center of the SMPP protocol, version 3.4.
type SMPP struct {
	Host         string   `toml:"host" check:"host"`
	Port         int      `toml:"port" min:"1" max:"65535"`
	TLS          bool     `toml:"tls"`
	CA           string   `toml:"ca" path:"file"`     // as in [mail]
	SystemID     string   `toml:"system_id" max:"15"` // lengths: SMPP 3.4, 4.1.5, without the final NUL
	Password     Secret   `toml:"password"`
	PasswordFile string   `toml:"password_file" path:"file"`
	SystemType   string   `toml:"system_type" max:"12"`
	Window       int      `toml:"window" min:"1" max:"100"`   // requests without an answer at a time
	Enquire      Duration `toml:"enquire" min:"5s" max:"10m"` // between two signs of life
}

// Gateway is an HTTP service that takes texts.
type Gateway struct {
	URL          string `toml:"url" check:"url"`
	User         string `toml:"user" max:"254"`
	Password     Secret `toml:"password"`
	PasswordFile string `toml:"password_file" path:"file"`
	Token        Secret `toml:"token"` // sent as a bearer token instead of user and password
	TokenFile    string `toml:"token_file" path:"file"`
	Body         string `toml:"body" max:"4000"` // template of the request's body; "" is a plain JSON object
	Type         string `toml:"content_type" max:"100"`
	ID           string `toml:"id_field" max:"100"` // dotted path of the message's id in a JSON answer

	// What a JSON answer with a good status says, by the value of a field.
	Result      string   `toml:"result_field" max:"100"` // dotted path; "" goes by the status, and by a field error or errors
	ResultOK    []string `toml:"result_ok"`              // values that mean taken
	ResultRetry []string `toml:"result_retry"`           // that mean: later again
	ResultDown  []string `toml:"result_down"`            // that mean that our account or sender is refused; all others: refused for good
	Why         string   `toml:"why_field" max:"100"`    // the service's own words

	// What the service posts to /hooks/text.
	Secret     Secret   `toml:"hook_secret"` // shared with the service; not set: nothing is taken
	SecretFile string   `toml:"hook_secret_file" path:"file"`
	Sign       string   `toml:"hook_sign" oneof:"time|body|basic|path"` // how the secret comes with it
	Header     string   `toml:"hook_header" max:"100"`                  // of the signature; "" is X-Signature
	HookID     string   `toml:"hook_id" max:"100"`                      // fields: dotted paths in JSON, names in a form
	HookFrom   string   `toml:"hook_from" max:"100"`
	HookTo     string   `toml:"hook_to" max:"100"`
	HookText   string   `toml:"hook_text" max:"100"`
	HookState  string   `toml:"hook_state" max:"100"` // it is there in a report on a text that went out
	Delivered  []string `toml:"hook_delivered"`       // its values that mean delivered
	Failed     []string `toml:"hook_failed"`          // that it never will be
}

// Inbox is where the answers to mail come in.
type Inbox struct {
	Kind         string   `toml:"kind" oneof:"none|imap|maildir"`
	Poll         Duration `toml:"poll" min:"5s" max:"1d"`
	Host         string   `toml:"host" check:"host"`
	Port         int      `toml:"port" min:"1" max:"65535"`
	TLS          string   `toml:"tls" oneof:"tls|starttls|none"`
	User         string   `toml:"user" max:"254"`
	Password     Secret   `toml:"password"`
	PasswordFile string   `toml:"password_file" path:"file"`
	Folder       string   `toml:"folder" check:"folder"`
	CA           string   `toml:"ca" path:"file"`            // as in [mail]
	Path         string   `toml:"path" path:"file"`          // of the maildir
	Others       string   `toml:"others" oneof:"leave|desk"` // mails of people who are no contacts: left alone in the mailbox, or shown to the desk
}

// Web is the pages.
type Web struct {
	Listen    string `toml:"listen" check:"listen"`
	PublicURL string `toml:"public_url" check:"url"` // how owners reach the pages; "": messages carry no links
}

// Log is what the service tells of its work, on standard error.
type Log struct {
	Level  string `toml:"level" oneof:"debug|info|warn|error"`
	Format string `toml:"format" oneof:"text|json"`
}

// unsetName and unsetMail stand for what a shop must set before it sends
// anything; .example is reserved and never delivered (RFC 2606, 2).
const (
	unsetName = "The shop"
	unsetMail = "service@shop.example"
)

// Usual ports: RFC 8314, 3.3 (465), RFC 6409, 3.1 (587), RFC 5321, 2.3.4
// (25), RFC 8314, 3.2 (993), RFC 9051, 2.1 (143), and the SMPP port registered
// with IANA (2775).
const (
	portSubmissionTLS = 465
	portSubmission    = 587
	portSMTP          = 25
	portIMAPTLS       = 993
	portIMAP          = 143
	portSMPP          = 2775
)

// Defaults gives the settings of a shop that has set nothing: facts in
// roundsman.db, mail and texts written into the folder spool, pages for this
// host only.
func Defaults() Settings {
	return Settings{
		Shop: Shop{
			Name: unsetName, Language: "en", Country: "US", MailFrom: unsetMail, Holidays: "us", ClosedOn: []models.Date{},
			Units: Units{Distance: "mi", Volume: "qt", Temperature: "f"},
		},
		Database: Database{Path: "roundsman.db"},
		Rounds:   Rounds{At: []models.TimeOfDay{models.At(7, 0)}, MaxDays: 7},
		Plan: Plan{
			OpenMinutes: []int{480, 480, 480, 480, 480, 0, 0}, Bays: 1, Technicians: 1, Days: 60, Calendar: "days", BringAt: models.At(8, 0),
			LaborCents: 9500, PartsCents: 3000, TransportCents: 6000, DowntimeCents: 4000, LateCents: 100, MoveCents: 2500,
		},
		Messages: Messages{
			QuietFrom: models.At(20, 0), QuietTo: models.At(8, 0), OnSundays: true,
			GapDays: []int{3, 7}, GiveUp: 3, RestDays: 14,
			// RFC 5321, 4.5.4.1: a first retry after 30 minutes or more, then
			// every two or three hours, giving up after 4 to 5 days.
			RetryFirst: mustDuration("30m"), RetryMost: mustDuration("3h"), RetryFor: mustDuration("5d"),
		},
		Mail: Mail{
			Port: portSubmission, TLS: "starttls", Spool: "spool",
			Timeout: mustDuration("60s"), PerMinute: 600, Parallel: 2,
		},
		SMS: SMS{
			Kind: "spool", Spool: "spool", Country: "1", PerMinute: 60, Timeout: mustDuration("30s"),
			SMPP: SMPP{Port: portSMPP, Window: 10, Enquire: mustDuration("30s")},
			Gateway: Gateway{ResultOK: []string{}, ResultRetry: []string{}, ResultDown: []string{},
				Sign: "time", Header: "X-Signature", HookID: "id", HookFrom: "from", HookTo: "to", HookText: "text", HookState: "state",
				Delivered: []string{"delivered"}, Failed: []string{"undelivered", "failed", "expired", "rejected"}},
		},
		Inbox: Inbox{
			Kind: "none", Poll: mustDuration("1m"), Port: portIMAPTLS, TLS: "tls", Folder: "INBOX", Others: "leave",
		},
		Web: Web{Listen: "127.0.0.1:8080"},
		Log: Log{Level: "info", Format: "text"},
	}
}

// mustDuration reads a constant; a bad one is 0, which a test would see.
func mustDuration(s string) Duration {
	d, _ := ParseDuration(s)
	return d
}
