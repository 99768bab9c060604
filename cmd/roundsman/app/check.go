package app

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"

	"example.org/roundsman/config"
	"example.org/roundsman/models"
	"example.org/roundsman/notify/mail"
	"example.org/roundsman/notify/message"
	"example.org/roundsman/notify/sms/gateway"
)

// Check looks at what the settings name on this host: files, folders, keys and
// templates. It makes and changes nothing that stays and asks no network. All
// faults come in one go, each at the place of its key or in its own file.
func Check(l *config.Loaded) models.Faults {
	faults := checkDatabase(l)
	add := func(key, value, remedy string, err error) {
		var own models.Faults
		var e *models.Error
		switch {
		case err == nil:
		case errors.As(err, &own):
			faults = append(faults, own...)
		case errors.As(err, &e) && e.Remedy != "":
			problem := e.Message
			if e.Err != nil {
				problem += ": " + e.Err.Error()
			}
			faults = append(faults, l.Fault(key, value, "does not do: "+problem, e.Remedy))
		default:
			faults = append(faults, l.Fault(key, value, "cannot be read: "+reason(err), remedy))
		}
	}
	if l.Rules != "" {
		data, err := os.ReadFile(l.Rules)
		if err == nil {
			_, err = config.ParseRules(l.Rules, data)
		}
		add("rules", l.Rules, "name the shop's rules file, or leave it out for the rules that come with the program", err)
	}
	if dir := l.Messages.Templates; dir != "" {
		_, err := os.ReadDir(dir)
		if err == nil {
			_, err = message.Load(os.DirFS(dir), dir)
		}
		add("messages.templates", dir, "name a folder, or leave it out for the program's own wording", err)
	}
	for key, path := range map[string]string{"mail.ca": l.Mail.CA, "inbox.ca": l.Inbox.CA, "sms.smpp.ca": l.SMS.SMPP.CA} {
		_, err := trust("", path)
		add(key, path, "", err)
	}
	if d := l.Mail.DKIM; !d.Key.IsZero() {
		_, err := mail.NewSigning(d.Domain, d.Selector, d.Key.Reveal())
		add("mail.dkim.key", "", "", err)
	}
	if l.SMS.Kind == "gateway" {
		_, err := gateway.New(gatewayConfig(l.SMS))
		add("sms.gateway.body", "", "", err)
		if s := l.SMS.Gateway.Secret; !s.IsZero() {
			add("sms.gateway.hook_secret", "", "", gateway.CheckSecret([]byte(s.Reveal())))
		}
	}
	return faults
}

// checkDatabase sees that the file of the facts can be written, or made.
func checkDatabase(l *config.Loaded) models.Faults {
	if !l.Database.DSN.IsZero() {
		return models.Faults{l.Fault("database.dsn", "", "is set, and this version keeps its facts in a SQLite file only", "set database.path to a file instead")}
	}
	path := l.Database.Path
	fault := func(problem, remedy string) models.Faults {
		return models.Faults{l.Fault("database.path", path, problem, remedy)}
	}
	info, err := os.Stat(path)
	switch {
	case err == nil && info.IsDir():
		return fault("is a folder", "name a file in it, for example "+filepath.Join(path, "roundsman.db"))
	case err == nil:
		f, err := os.OpenFile(path, os.O_RDWR, 0)
		if err != nil {
			return fault("cannot be written: "+reason(err), "let the user of the service write the file")
		}
		_ = f.Close()
	case !errors.Is(err, fs.ErrNotExist):
		return fault("cannot be used: "+reason(err), "name a file in a folder of the service's own")
	}
	dir := filepath.Dir(path)
	for errors.Is(err, fs.ErrNotExist) && filepath.Dir(dir) != dir { // the store makes the folders that are missing
		if _, err = os.Stat(dir); err != nil {
			dir = filepath.Dir(dir)
		}
	}
	f, err := os.CreateTemp(dir, ".roundsman-check-*")
	if err != nil {
		return fault("is in a folder that cannot be written: "+reason(err), "let the user of the service write the folder "+dir)
	}
	_ = f.Close()
	_ = os.Remove(f.Name())
	return nil
}

// reason says why a file cannot be used without repeating its name.
func reason(err error) string {
	var p *fs.PathError
	if errors.As(err, &p) {
		err = p.Err
	}
	return err.Error()
}
