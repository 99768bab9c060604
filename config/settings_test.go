package config_test

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.org/roundsman/config"
	"example.org/roundsman/models"
)

// noFiles is a host without files.
func noFiles(name string) ([]byte, error) {
	return nil, &fs.PathError{Op: "open", Path: name, Err: fs.ErrNotExist}
}

// files is a host with a few files.
func files(m map[string]string) config.ReadFile {
	host := fstest.MapFS{}
	for name, text := range m {
		host[name] = &fstest.MapFile{Data: []byte(text)}
	}
	return func(name string) ([]byte, error) { return host.ReadFile(filepath.ToSlash(name)) }
}

func TestLoadWithoutAFile(t *testing.T) {
	l, err := config.Load("", nil, noFiles)
	require.NoError(t, err)
	assert.Equal(t, config.Defaults(), l.Settings)
	assert.Empty(t, l.File)
	for _, d := range l.Describe() {
		assert.Equal(t, "default", d.Source, d.Key)
	}
}

func TestLoadAnEmptyFile(t *testing.T) {
	for name, text := range map[string]string{"empty": "", "remarks": "# nothing\n\n", "bom": "\xef\xbb\xbf", "crlf": "\r\n# x\r\n"} {
		t.Run(name, func(t *testing.T) {
			l, err := config.Load("roundsman.toml", nil, files(map[string]string{"roundsman.toml": text}))
			require.NoError(t, err)
			assert.Equal(t, config.Defaults(), l.Settings)
		})
	}
}

// The file that is found without being named is read; a named one must be there.
func TestLoadFindsItsFile(t *testing.T) {
	host := files(map[string]string{config.DefaultFile: "[shop]\nname = \"Ridge Line\"\n"})
	l, err := config.Load("", nil, host)
	require.NoError(t, err)
	assert.Equal(t, "Ridge Line", l.Shop.Name)
	assert.Equal(t, config.DefaultFile, l.File)

	_, err = config.Load("other.toml", nil, host)
	assert.Equal(t, models.CodeInvalid, models.CodeOf(err))
	assert.EqualError(t, err, "the settings file other.toml does not exist; check its path, or leave --config out for the defaults")

	_, err = config.Load("", nil, func(string) ([]byte, error) { return nil, errors.New("permission denied") })
	assert.Equal(t, models.CodeUnavailable, models.CodeOf(err))
}

// The defaults are those that the people's own habits hang on.
func TestDefaults(t *testing.T) {
	d := config.Defaults()
	assert.Equal(t, "roundsman.db", d.Database.Path)
	assert.Equal(t, "spool", d.Mail.Spool)
	assert.Equal(t, "spool", d.SMS.Spool)
	assert.Empty(t, d.Mail.Host)
	assert.Equal(t, "127.0.0.1:8080", d.Web.Listen)
	assert.Equal(t, "20:00", d.Messages.QuietFrom.String())
	assert.Equal(t, "08:00", d.Messages.QuietTo.String())
	assert.Equal(t, time.UTC, d.Shop.TimeZone.Location())
	assert.True(t, models.ValidMail(d.Shop.MailFrom))

	// RFC 5321, 4.5.4.1: "the retry interval SHOULD be at least 30 minutes";
	// "give-up time generally needs to be at least 4-5 days".
	assert.GreaterOrEqual(t, d.Messages.RetryFirst.Std(), 30*time.Minute)
	assert.GreaterOrEqual(t, d.Messages.RetryFor.Std(), 4*24*time.Hour)
}

// The example is read without a fault, says what the defaults are, and shows
// every key, be it in a remark.
func TestExample(t *testing.T) {
	text, err := os.ReadFile("example.toml")
	require.NoError(t, err)
	l, err := config.Load("example.toml", nil, os.ReadFile)
	require.NoError(t, err)
	assert.Equal(t, config.Defaults(), l.Settings)
	for key := range config.Env() {
		name := key[strings.LastIndexByte(key, '.')+1:]
		secret := strings.HasSuffix(name, "_file") || has(config.Env(), key+"_file")
		assert.True(t, secret || strings.Contains(string(text), "\n"+name+" = "), key)
	}
}

func has(m map[string]string, key string) bool { _, ok := m[key]; return ok }

const whole = `
rules = "rules.toml"
[shop]
name = "Ridge Line Service"
time_zone = "America/Denver"
language = "es"
phone = "+1 (212) 555-0100"
mail_from = "service@ridge.example.org"
reply_to = "desk@ridge.example.org"
holidays = "none"
closed_on = [2026-12-24, "2026-12-31"]
units = { distance = "km", volume = "l", temperature = "c" }
[database]
path = "data/shop.db"
[rounds]
at = [07:00, "13:30"]
max_days = 3
[messages]
quiet_from = 19:00:00
quiet_to = "09:00"
on_sundays = false
on_holidays = false
gap_days = [2, 5, 10]
give_up = 4
retry_first = "45m"
retry_most = "2h"
retry_for = "4d"
[mail]
host = "mail.example.com"
tls = "tls"
user = "ridge"
password_file = "secrets/mail"
[log]
level = "debug"
`

func TestLoadAWholeFile(t *testing.T) {
	l, err := config.Load("etc/roundsman.toml", nil, files(map[string]string{
		"etc/roundsman.toml": whole, "etc/secrets/mail": "secret-word\n"}))
	require.NoError(t, err)

	assert.Equal(t, "etc/rules.toml", filepath.ToSlash(l.Rules), "paths start at the folder of the file")
	assert.Equal(t, "etc/data/shop.db", filepath.ToSlash(l.Database.Path))
	assert.Equal(t, "spool", l.Mail.Spool, "a default stays where the program runs")
	assert.Equal(t, "America/Denver", l.Shop.TimeZone.Location().String())
	assert.Equal(t, config.Units{Distance: "km", Volume: "l", Temperature: "c"}, l.Shop.Units)
	assert.Equal(t, []models.Date{models.MustDate("2026-12-24"), models.MustDate("2026-12-31")}, l.Shop.ClosedOn)
	assert.Equal(t, []models.TimeOfDay{models.At(7, 0), models.At(13, 30)}, l.Rounds.At)
	assert.Equal(t, models.At(19, 0), l.Messages.QuietFrom)
	assert.Equal(t, []int{2, 5, 10}, l.Messages.GapDays)
	assert.Equal(t, 4*24*time.Hour, l.Messages.RetryFor.Std())
	assert.False(t, l.Messages.OnSundays)
	assert.Equal(t, "secret-word", l.Mail.Password.Reveal())
	assert.Equal(t, 465, l.Mail.Port, "RFC 8314, 3.3: implicit TLS submission is port 465")

	assert.Equal(t, "etc/roundsman.toml:4", l.Source("shop.name").String())
	assert.Equal(t, config.Source{File: "etc/roundsman.toml", Line: 32}, l.Source("mail.password"))
	assert.Equal(t, config.Source{}, l.Source("web.listen"))
}

// Ports follow the encryption where none is set: RFC 6409, 3.1; RFC 8314,
// 3.2 and 3.3; RFC 5321, 2.3.4; RFC 9051, 2.1.
func TestUsualPorts(t *testing.T) {
	tests := []struct {
		tls        string
		mail, imap int
	}{{"starttls", 587, 143}, {"tls", 465, 993}, {"none", 25, 143}}
	for _, tt := range tests {
		l, err := config.Parse("s.toml", []byte("[mail]\ntls = \""+tt.tls+"\"\n[inbox]\ntls = \""+tt.tls+"\"\n"), nil, noFiles)
		require.NoError(t, err)
		assert.Equal(t, tt.mail, l.Mail.Port, tt.tls)
		assert.Equal(t, tt.imap, l.Inbox.Port, tt.tls)
	}
	l, err := config.Parse("s.toml", []byte("[mail]\ntls = \"tls\"\nport = 2465\n"), nil, noFiles)
	require.NoError(t, err)
	assert.Equal(t, 2465, l.Mail.Port)
}

func TestWarnings(t *testing.T) {
	tests := map[string]struct {
		text string
		want []string // one for each warning that must be there
		not  []string // keys without a warning
	}{
		"nothing set": {"", []string{
			`settings: shop.name "The shop" is not set; write the name with which messages begin`,
			`settings: shop.time_zone "UTC" is a guess by which rounds and quiet hours go until the shop's own is set; write the shop's zone, for example "America/Denver", or "Etc/UTC" if UTC is meant`,
			`settings: mail.host is not set, so that mail is written into the folder spool and not sent; set it to the host of a mail server`,
			`settings: web.public_url is not set, so that messages carry no links; set it to the address under which owners reach the pages`,
		}, []string{"web.listen", "messages.quiet_from", "sms.sender"}},
		"UTC meant": {"[shop]\ntime_zone = \"Etc/UTC\"\n", nil, []string{"shop.time_zone"}},
		"zone copied from the example": {"[shop]\ntime_zone = \"UTC\"\n", []string{
			`s.toml:2:1: shop.time_zone "UTC" is a guess by which rounds and quiet hours go until the shop's own is set; write the shop's zone, for example "America/Denver", or "Etc/UTC" if UTC is meant`,
		}, nil},
		"texts need a registered sender": {
			"[sms]\nkind = \"gateway\"\nsender = \"+12125550100\"\n[sms.gateway]\nurl = \"https://sms.example.com\"\ntoken = \"secret-word\"\n",
			[]string{`s.toml:3:1: sms.sender "+12125550100" may have to be registered: many carriers drop texts from senders they do not know; ` +
				`ask the provider; in the United States programs send from a registered 10-digit number, a verified toll-free number or a short code`},
			[]string{"sms.kind"}},
		"no texts wanted": {"[sms]\nkind = \"none\"\n", nil, []string{"sms.kind", "sms.sender"}},
		// 47 CFR 64.1200(c)(1): not before 8 a.m. or after 9 p.m.
		"nine in the evening is allowed": {"[messages]\nquiet_from = \"21:00\"\n", nil, []string{"messages.quiet_from"}},
		"a minute later is not": {"[messages]\nquiet_from = \"21:01\"\n",
			[]string{`s.toml:2:1: messages.quiet_from "21:01" lets messages go before 08:00 or after 21:00; ` +
				`check the law where the owners live; in the United States solicitations by phone or text may only go between these hours`}, nil},
		"before eight is not": {"[messages]\nquiet_to = \"07:59\"\n",
			[]string{`s.toml:1:2: messages.quiet_from "20:00" lets messages go before 08:00 or after 21:00; ` +
				`check the law where the owners live; in the United States solicitations by phone or text may only go between these hours`}, nil},
		"no quiet hours": {"[messages]\nquiet_from = \"08:00\"\n",
			[]string{`s.toml:2:1: messages.quiet_from "08:00" is the same as quiet_to, so that messages go at any hour; write the usual hours: quiet_from = "20:00", quiet_to = "08:00"`}, nil},
		"pages open to the network": {"[web]\nlisten = \"0.0.0.0:8080\"\n",
			[]string{`s.toml:2:1: web.listen "0.0.0.0:8080" opens the pages to the network without encryption; listen on 127.0.0.1 behind a proxy with TLS, and set web.public_url`}, nil},
		"pages in the clear": {"[web]\npublic_url = \"http://service.example.com\"\n",
			[]string{`s.toml:2:1: web.public_url "http://service.example.com" has owners and the shop log in in the clear; put a proxy with TLS before the service and write https://`}, nil},
		"pages behind a proxy": {"[web]\nlisten = \":8080\"\npublic_url = \"https://service.example.com\"\n", nil, []string{"web.listen", "web.public_url"}},
		"mail in the clear": {"[shop]\nmail_from = \"a@ridge.example.org\"\n[mail]\nhost = \"mail.example.com\"\ntls = \"none\"\n",
			[]string{
				`s.toml:5:1: mail.tls "none" sends everything in the clear; write "starttls" or "tls"`,
				`s.toml: inbox.kind "none" leaves the answers to mail unread; set an inbox, or shop.reply_to to an address that somebody reads`,
			}, nil},
		"mail to this host in the clear": {"[shop]\nmail_from = \"a@ridge.example.org\"\nreply_to = \"b@ridge.example.org\"\n[mail]\nhost = \"127.0.0.1\"\ntls = \"none\"\n",
			nil, []string{"mail.tls", "inbox.kind"}},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			file := "s.toml"
			if tt.text == "" {
				file = ""
			}
			l, err := config.Parse(file, []byte(tt.text), nil, noFiles)
			require.NoError(t, err)
			var got []string
			for _, w := range l.Warnings {
				got = append(got, w.String())
				assert.NotContains(t, tt.not, w.Field)
			}
			for _, w := range tt.want {
				assert.Contains(t, got, w)
			}
		})
	}
}
