package web

import (
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"encoding/hex"
	"errors"
	"fmt"
	"net/http"
	"strings"
	"time"

	"golang.org/x/crypto/bcrypt"

	"example.org/roundsman/models"
)

// How long a session lasts without use, and at most.
const (
	idleFor = 7 * 24 * time.Hour
	mostFor = 30 * 24 * time.Hour
	noteFor = time.Hour // how often a session's use is noted
)

// hashCost is bcrypt's: about a quarter of a second on a small server.
const hashCost = 12

// Bounds of a password. bcrypt reads 72 bytes and no more.
const (
	minPassword = 10
	maxPassword = 72
)

// NewSecret gives 256 bits of chance as text, and their digest for the store.
func NewSecret() (secret, digest string) {
	var b [32]byte
	rand.Read(b[:]) // it never fails: it ends the program instead
	secret = base64.RawURLEncoding.EncodeToString(b[:])
	return secret, Digest(secret)
}

// Digest gives what is stored of a secret.
func Digest(secret string) string {
	sum := sha256.Sum256([]byte(secret))
	return hex.EncodeToString(sum[:])
}

// CheckPassword says what is wrong with a new password; nil is nothing.
func CheckPassword(password string) error {
	if len([]rune(password)) < minPassword || len(password) > maxPassword {
		return models.Errorf(models.CodeInvalid, "a few words that nobody would guess are easy to remember",
			"a password has %d characters or more, and at most %d bytes", minPassword, maxPassword)
	}
	return nil
}

// HashPassword gives the hash of a password; cost 0 is the usual.
func HashPassword(password string, cost int) (string, error) {
	if cost == 0 {
		cost = hashCost
	}
	h, err := bcrypt.GenerateFromPassword([]byte(password), cost)
	if err != nil {
		return "", fmt.Errorf("hashing a password: %w", err)
	}
	return string(h), nil
}

func (s *Site) hash(password string) (string, error) { return HashPassword(password, s.Cost) }

// matches compares a password with a hash, and takes as long where there is
// no hash to compare with.
func (s *Site) matches(hash, password string) (bool, error) {
	known := hash != ""
	if !known {
		var err error
		if hash, err = s.nobody(); err != nil {
			return false, err
		}
	}
	if len(password) > maxPassword {
		password = ""
	}
	return bcrypt.CompareHashAndPassword([]byte(hash), []byte(password)) == nil && known, nil
}

// cookieName gives the name of the session's cookie. A __Host- cookie is taken
// from this host alone and over https alone (RFC 6265bis, 4.1.3.2).
func (rq *request) cookieName() string {
	if rq.secure() {
		return "__Host-roundsman"
	}
	return "roundsman"
}

// secure says whether the viewer came over https, here or to a proxy under the
// public address.
func (rq *request) secure() bool {
	if rq.r.TLS != nil {
		return true
	}
	p := rq.site.public
	return p != nil && p.Scheme == "https" && strings.EqualFold(rq.r.Host, p.Host)
}

// identify finds who the viewer is by the session's cookie.
func (rq *request) identify() error {
	c, err := rq.r.Cookie(rq.cookieName())
	if err != nil || c.Value == "" {
		return nil
	}
	token := Digest(c.Value)
	n, u, ok, err := rq.site.store.SessionUser(rq.ctx(), token, rq.instant())
	if err != nil || !ok {
		return err
	}
	rq.user, rq.token = u, token
	if u.Language != "" {
		rq.lang = u.Language
	}
	rq.scope = scope{store: rq.site.store, country: rq.site.Country, owner: u.Owner}
	if rq.now.Sub(n.SeenAt.Time()) < noteFor {
		return nil
	}
	ends := min(rq.instant().Add(idleFor), n.CreatedAt.Add(mostFor))
	return rq.site.store.TouchSession(rq.ctx(), token, rq.instant(), ends)
}

// begin logs a user in.
func (rq *request) begin(u models.User) error {
	secret, digest := NewSecret()
	ends := rq.instant().Add(idleFor)
	err := rq.site.store.BeginSession(rq.ctx(), models.Session{Token: digest, User: u.ID, CreatedAt: rq.instant(),
		SeenAt: rq.instant(), EndsAt: ends})
	if err != nil {
		return err
	}
	rq.cookie(secret, int(idleFor.Seconds()))
	rq.user = u
	return rq.did("logged in", "", string(u.Role))
}

func (rq *request) cookie(value string, seconds int) {
	http.SetCookie(rq.w, &http.Cookie{Name: rq.cookieName(), Value: value, Path: "/", MaxAge: seconds,
		HttpOnly: true, Secure: rq.secure(), SameSite: http.SameSiteLaxMode})
}

// loginForm is the data of the log-in page.
type loginForm struct {
	frame
	Name   string
	Next   string
	Failed bool
}

func loginPage(rq *request) error {
	if rq.user.ID != 0 {
		return rq.to("/", "")
	}
	p := loginForm{frame: rq.frame("Log in"), Next: ownPath(rq.r.URL.Query().Get("next"))}
	return rq.render("login", p)
}

// ownPath gives a path of these pages to go to, "/" for anything else.
func ownPath(s string) string {
	if !strings.HasPrefix(s, "/") || strings.HasPrefix(s, "//") || strings.ContainsAny(s, "\\\r\n\t") || strings.HasPrefix(s, "/login") {
		return "/"
	}
	return s
}

func login(rq *request) error {
	name, password := models.Shorten(rq.value("name"), 100), rq.r.PostFormValue("password")
	from := network(rq.address())
	who := strings.ToLower(name)
	pair := from + " " + who
	at := rq.now
	s := rq.site
	if s.logins.full(pair, at) || s.guesses.full(from, at) || s.accounts.full(who, at) {
		return errTooMany
	}
	u, _, err := s.store.UserNamed(rq.ctx(), name)
	if err != nil {
		return err
	}
	ok, err := s.matches(u.Hash, password)
	if err != nil {
		return err
	}
	if !ok {
		s.logins.count(pair, at)
		s.guesses.count(from, at)
		s.accounts.count(who, at)
		if err := rq.trace(name, "log-in refused", "", ""); err != nil {
			return err
		}
		p := loginForm{frame: rq.frame("Log in"), Name: name, Next: ownPath(rq.value("next")), Failed: true}
		return rq.renderAs(http.StatusUnprocessableEntity, "login", p)
	}
	s.logins.clear(pair)
	if err := rq.begin(u); err != nil {
		return err
	}
	return rq.to(ownPath(rq.value("next")), "")
}

func logout(rq *request) error {
	if err := rq.site.store.EndSession(rq.ctx(), rq.token); err != nil {
		return err
	}
	rq.cookie("", -1)
	if err := rq.did("logged out", "", ""); err != nil {
		return err
	}
	return rq.to("/login", "out")
}

// enterForm is the data of the page behind a one-time log-in.
type enterForm struct {
	frame
	Pass   string
	Name   string
	Has    bool // the user has a password already
	Faulty string
	Remedy string
}

// enterPage shows what a one-time log-in is for. It uses nothing up: mail
// scanners open links too.
func enterPage(rq *request) error {
	u, err := rq.passUser()
	if err != nil {
		return err
	}
	return rq.render("enter", enterForm{frame: rq.frame("Come in"), Pass: rq.r.PathValue("pass"), Name: u.Name, Has: u.Hash != ""})
}

func (rq *request) passUser() (models.User, error) {
	from := network(rq.address())
	if rq.site.openings.full(from, rq.now) {
		return models.User{}, errTooMany
	}
	u, ok, err := rq.site.store.PassUser(rq.ctx(), Digest(rq.r.PathValue("pass")), rq.instant())
	if err == nil && !ok {
		rq.site.openings.count(from, rq.now)
		err = errDeadLink
	}
	return u, err
}

// enter lets a user in once, with a new password where one is given.
func enter(rq *request) error {
	u, err := rq.passUser()
	if err != nil {
		return err
	}
	password := rq.r.PostFormValue("password")
	if password != "" {
		if err := CheckPassword(password); err != nil {
			var e *models.Error
			p := enterForm{frame: rq.frame("Come in"), Pass: rq.r.PathValue("pass"), Name: u.Name, Has: u.Hash != ""}
			if errors.As(err, &e) {
				p.Faulty, p.Remedy = e.In(rq.lang)
			}
			return rq.renderAs(http.StatusUnprocessableEntity, "enter", p)
		}
	}
	ok, err := rq.site.store.UsePass(rq.ctx(), Digest(rq.r.PathValue("pass")), rq.instant())
	if err != nil {
		return err
	}
	if !ok {
		return errDeadLink
	}
	if password != "" {
		hash, err := rq.site.hash(password)
		if err != nil {
			return err
		}
		if err := rq.site.store.SetPassword(rq.ctx(), u.Name, hash); err != nil {
			return err
		}
	}
	if err := rq.begin(u); err != nil {
		return err
	}
	return rq.to("/", "")
}

// language keeps the language in which a user sees the pages.
func language(rq *request) error {
	lang := rq.value("language")
	if lang != "en" && lang != "es" {
		return models.Errorf(models.CodeInvalid, "choose one of the two", "the pages do not speak that language")
	}
	if err := rq.site.store.SetLanguage(rq.ctx(), rq.user.ID, lang); err != nil {
		return err
	}
	return rq.to(ownPath(rq.value("next")), "")
}
