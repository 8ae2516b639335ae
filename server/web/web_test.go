package web

import (
	"fmt"
	"io/fs"
	"math"
	"regexp"
	"strings"
	"testing"

	"relevel/jobs"
)

var colour = regexp.MustCompile(`--([a-z0-9-]+): (#[0-9a-f]{3,6})`)

// luminance of a colour as WCAG 2.2 defines it.
func luminance(t *testing.T, hex string) float64 {
	t.Helper()
	if len(hex) == 4 {
		hex = "#" + strings.Repeat(hex[1:2], 2) + strings.Repeat(hex[2:3], 2) + strings.Repeat(hex[3:4], 2)
	}
	var rgb [3]int
	if _, err := fmt.Sscanf(hex, "#%2x%2x%2x", &rgb[0], &rgb[1], &rgb[2]); err != nil {
		t.Fatalf("%s: %v", hex, err)
	}
	sum := 0.0
	for i, weight := range []float64{0.2126, 0.7152, 0.0722} {
		c := float64(rgb[i]) / 255
		if c <= 0.04045 {
			c /= 12.92
		} else {
			c = math.Pow((c+0.055)/1.055, 2.4)
		}
		sum += weight * c
	}
	return sum
}

// Whatever is written stands at 7 to 1 on what it is written on, by day, by
// night and in print (WCAG 2.2, 1.4.6).
func TestContrast(t *testing.T) {
	css, err := files.ReadFile("static/page.css")
	if err != nil {
		t.Fatal(err)
	}
	roots := regexp.MustCompile(`(?s):root \{(.*?)\}`).FindAllStringSubmatch(string(css), -1)
	if len(roots) != 3 {
		t.Fatalf("%d sets of colours, want day, night and print", len(roots))
	}
	for i, name := range []string{"day", "night", "print"} {
		set := map[string]string{}
		for _, m := range colour.FindAllStringSubmatch(roots[i][1], -1) {
			set[m[1]] = m[2]
		}
		for _, ink := range []string{"ink", "pencil", "chalk", "red"} {
			for _, paper := range []string{"paper", "wash"} {
				a, b := luminance(t, set[ink]), luminance(t, set[paper])
				if got := (max(a, b) + 0.05) / (min(a, b) + 0.05); got < 7 {
					t.Errorf("by %s %s on %s is %.1f to 1, want 7", name, ink, paper, got)
				}
			}
		}
	}
}

// Every page has its template, and every template is of a page.
func TestTemplates(t *testing.T) {
	pages := []Page{
		APIPage{}, AccountPage{}, ApartPage{}, ArrivalPage{}, BelowPage{}, BookInPage{}, BookPage{},
		CalendarsPage{}, ChangePage{}, ChangesPage{}, ChoicesPage{}, ConditionPage{}, CrewSheetPage{},
		DaySheetPage{}, DevicesPage{}, DiaryPage{}, DrawnPage{}, EnterPage{}, FindingPage{}, FindingsPage{},
		FirmPage{}, HandoverPage{}, HookPage{}, HooksPage{}, InvitationPage{}, JobPage{}, KitPage{}, MovesPage{},
		NewJobPage{}, NoPhonePage{}, OfferPage{}, PackersPage{}, PairPage{}, ParticularsPage{}, PeoplePage{},
		PersonPage{}, PhotosPage{}, PlanInPage{}, PlanPage{}, ProblemPage{}, ProfilesPage{}, QuarantinePage{},
		RecordPage{}, RecordsPage{}, RegisterPage{}, ResetPage{}, SchedulePage{}, SearchPage{}, SheetsPage{},
		ShotPage{}, StopsPage{}, SupportPage{}, TokensPage{}, TrailPage{}, TrustPage{},
		CheckpointPage{}, OpenSharePage{}, OwnerChangePage{}, OwnerPage{}, PackPage{}, ShareOverPage{}, SharesPage{}, VerifyPage{},
	}
	templates := templatesIn(jobs.Speech{})
	for _, p := range pages {
		if templates[p.page()] == nil {
			t.Errorf("no template %q", p.page())
		}
	}
	if len(templates) != len(pages) {
		t.Errorf("%d templates for %d pages", len(templates), len(pages))
	}
}

// What every form carries beside its fields has names of its own: a field of the
// same name would be sent in its place.
func TestFieldsHaveNamesOfTheirOwn(t *testing.T) {
	taken := map[string]bool{"form": true, "seen": true, "about": true, "back": true, "unit": true, "recorder": true,
		"apart": true, "decision": true,
		"photo": true, "photo-stage": true, "photo-subject": true, "document-file": true}
	for _, f := range Forms {
		for _, field := range f.Fields {
			if taken[field.Name] {
				t.Errorf("%s: the field %q has the name of something every form carries", f.Kind, field.Name)
			}
		}
	}
}

// Every style sheet and script is sent with all pages, or named by a page or a script.
func TestStaticFilesAreUsed(t *testing.T) {
	var named strings.Builder
	for _, pattern := range []string{"templates/*.html", "templates/parts/*.html"} {
		names, err := fs.Glob(files, pattern)
		if err != nil {
			t.Fatal(err)
		}
		for _, name := range names {
			b, err := files.ReadFile(name)
			if err != nil {
				t.Fatal(err)
			}
			named.Write(b)
		}
	}
	for name := range assets() {
		if !strings.Contains(named.String(), `asset "`+name+`"`) {
			t.Errorf("nothing asks for %s: put it into together, or name it in a template", name)
		}
	}
}

// What people typed begins with any letter, or with none.
func TestUpper(t *testing.T) {
	for text, want := range map[string]string{"": "", "sunk": "Sunk", "écurie": "Écurie", "ärger": "Ärger", "7 mm": "7 mm", "漢": "漢", "\xffx": "\xffx"} {
		if got := Upper(text); got != want {
			t.Errorf("%q begins large as %q, want %q", text, got, want)
		}
	}
}
