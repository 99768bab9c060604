package message

import (
	"bytes"
	"embed"
	"errors"
	"fmt"
	htmltemplate "html/template"
	"io/fs"
	"maps"
	"path"
	"regexp"
	"slices"
	"sort"
	"strconv"
	"strings"
	"sync"
	"text/template"

	"example.org/roundsman/models"
)

//go:embed templates
var embedded embed.FS

// Forms of a message, the endings of template files.
const (
	formText = "txt"  // a mail; the first line is "Subject: ..."
	formHTML = "html" // the mail's other form; where none is given the text is laid out
	formSMS  = "sms"  // a text: wordings divided by lines of ---, the longest first
)

// layoutFile is the frame of every HTML form.
const layoutFile = "layout.html"

// Languages lists the languages that messages are written in.
func Languages() []string { return []string{"en", "es"} }

// Purposes lists every purpose that has templates.
func Purposes() []models.Purpose {
	return []models.Purpose{models.PurposeNotices, models.PurposeCheck, models.PurposeReading,
		models.PurposeVisit, models.PurposeAnswer, models.PurposeStopped, models.PurposeStarted,
		models.PurposeHelp, models.PurposeShopAlert, models.PurposeTest}
}

// Templates are the words of all messages. They are made once, never change,
// and may be used from everywhere.
type Templates struct {
	text   map[string]*template.Template
	html   map[string]*htmltemplate.Template
	layout *htmltemplate.Template
}

// BuiltIn gives the templates that come with the program.
var BuiltIn = sync.OnceValues(func() (*Templates, error) { return Load(nil, "") })

// Load gives the templates that come with the program with a shop's own files
// in place of those of the same name; nil is no own files. Names are
// PURPOSE.LANGUAGE.FORM, such as notices.es.sms, and layout.html. Every
// template is run against sample data. What is wrong is told in one go as
// models.Faults, each with the file (below folder, for the reader) and line.
func Load(own fs.FS, folder string) (*Templates, error) {
	files, err := builtInFiles()
	if err != nil {
		return nil, err
	}
	var faults models.Faults
	mine := map[string]bool{}
	if own != nil {
		faults = overlay(files, mine, own, folder)
	}
	shown := func(name string) string {
		if mine[name] {
			return path.Join(folder, name)
		}
		return "built-in " + name
	}
	t := &Templates{text: map[string]*template.Template{}, html: map[string]*htmltemplate.Template{}}
	t.layout, err = htmltemplate.New(layoutFile).Parse(files[layoutFile])
	if err != nil {
		return nil, append(faults, templateFault(shown(layoutFile), err))
	}
	for _, name := range slices.Sorted(maps.Keys(files)) {
		if err := t.parse(name, files[name]); err != nil {
			faults = append(faults, templateFault(shown(name), err))
		}
	}
	if len(faults) == 0 {
		faults = t.check(shown)
	}
	if err := faults.Err(); err != nil {
		return nil, err
	}
	return t, nil
}

// builtInFiles reads the embedded templates by name.
func builtInFiles() (map[string]string, error) {
	files := map[string]string{}
	entries, err := embedded.ReadDir("templates")
	if err != nil {
		return nil, fmt.Errorf("reading the built-in templates: %w", err)
	}
	for _, e := range entries {
		b, err := embedded.ReadFile("templates/" + e.Name())
		if err != nil {
			return nil, fmt.Errorf("reading the built-in templates: %w", err)
		}
		files[e.Name()] = string(b)
	}
	return files, nil
}

// overlay puts a shop's own files over the built-in ones. Hidden files and
// folders are left alone, other unknown names are faults.
func overlay(files map[string]string, mine map[string]bool, own fs.FS, folder string) models.Faults {
	entries, err := fs.ReadDir(own, ".")
	if err != nil {
		return models.Faults{{File: folder, Problem: "the template folder cannot be read", Remedy: reason(err)}}
	}
	var faults models.Faults
	known := templateNames()
	for _, e := range entries {
		name := e.Name()
		if e.IsDir() || strings.HasPrefix(name, ".") || strings.HasPrefix(strings.ToUpper(name), "README") {
			continue
		}
		if !slices.Contains(known, name) {
			faults = append(faults, models.Fault{File: path.Join(folder, name), Problem: "is not the name of a template",
				Remedy: "name it PURPOSE.LANGUAGE.FORM, for example notices.en.sms"})
			continue
		}
		b, err := fs.ReadFile(own, name)
		if err != nil {
			faults = append(faults, models.Fault{File: path.Join(folder, name), Problem: "cannot be read", Remedy: reason(err)})
			continue
		}
		files[name], mine[name] = string(b), true
	}
	return faults
}

// reason gives the bare cause of a file error.
func reason(err error) string {
	var pe *fs.PathError
	if errors.As(err, &pe) {
		err = pe.Err
	}
	return "make it readable: " + err.Error()
}

// templateNames lists every name that a template may have.
func templateNames() []string {
	names := []string{layoutFile}
	for _, p := range Purposes() {
		for _, lang := range Languages() {
			for _, form := range []string{formText, formHTML, formSMS} {
				names = append(names, templateName(p, lang, form))
			}
		}
	}
	sort.Strings(names)
	return names
}

func templateName(p models.Purpose, lang, form string) string {
	return string(p) + "." + lang + "." + form
}

// smsDivider divides the wordings of a text template.
var smsDivider = regexp.MustCompile(`(?m)^---[ \t]*\r?\n`)

func (t *Templates) parse(name, body string) error {
	var err error
	switch path.Ext(name) {
	case "." + formHTML:
		if name == layoutFile {
			return nil
		}
		frame, cerr := t.layout.Clone()
		if cerr != nil {
			return cerr
		}
		t.html[name], err = frame.New(name).Parse(body)
	default:
		t.text[name], err = template.New(name).Parse(body)
	}
	return err
}

// run executes a text template.
func (t *Templates) run(name string, p Page) (string, error) {
	tpl, ok := t.text[name]
	if !ok {
		return "", models.Errorf(models.CodeInternal, "", "there is no template %s", name)
	}
	var b strings.Builder
	if err := tpl.Execute(&b, p); err != nil {
		return "", fmt.Errorf("writing a message: %w", err)
	}
	return b.String(), nil
}

// templatePlace finds where an error of the template packages points:
// "template: NAME:LINE:COLUMN: what" or "html/template:NAME:LINE:COLUMN: what".
var templatePlace = regexp.MustCompile(`^(?:writing a message: )?(?:html/)?template: ?[^:]+:(\d+)(?::(\d+))?: (.*)$`)

func templateFault(file string, err error) models.Fault {
	f := models.Fault{File: file, Problem: err.Error(), Remedy: "compare it with the template that comes with the program"}
	var told *models.Error
	if errors.As(err, &told) {
		f.Problem, f.Remedy = told.Message, told.Remedy
		return f
	}
	m := templatePlace.FindStringSubmatch(strings.ReplaceAll(err.Error(), "\n", " "))
	if m == nil {
		return f
	}
	if line, err := strconv.Atoi(m[1]); err == nil {
		f.Line = line
	}
	if col, err := strconv.Atoi(m[2]); err == nil {
		f.Column = col
	}
	f.Problem = m[3]
	return f
}

// htmlPage is what the frame of the HTML forms gets.
type htmlPage struct {
	Page
	Title  string
	Blocks []block // the text laid out; used where there is no HTML of its own
}

// runHTML executes the HTML form of a purpose, or lays out the text where it
// has none of its own.
func (t *Templates) runHTML(name string, p htmlPage) (string, error) {
	tpl := t.layout
	if own, ok := t.html[name]; ok {
		tpl = own
	}
	var b bytes.Buffer
	if err := tpl.ExecuteTemplate(&b, layoutFile, p); err != nil {
		return "", fmt.Errorf("writing a message: %w", err)
	}
	return b.String(), nil
}
