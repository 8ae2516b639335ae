package answers_test

import (
	"cmp"
	"encoding/json"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"
	"unicode"

	gocmp "github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"relevel/events"
	"relevel/jobs"
	"relevel/jobs/answers"
)

// Whatever of a job is recorded, what its account says holds.
func TestOfAnyRecord(t *testing.T) {
	logs := map[string][]events.Stored{}
	var names []string
	for name, tell := range tales {
		s := newSite(t)
		tell(s)
		logs[name] = s.log
		names = append(names, name)
	}
	slices.Sort(names)
	rapid.Check(t, func(t *rapid.T) {
		all := logs[rapid.SampledFrom(names).Draw(t, "tale")]
		var log []events.Stored
		for i, e := range all {
			if rapid.IntRange(0, 9).Draw(t, "keep "+strconv.Itoa(i)) > 1 {
				e.Seq = int64(len(log) + 1)
				log = append(log, e)
			}
		}
		holds(t, log)
	})
}

func holds(t *rapid.T, log []events.Stored) {
	now := time.Date(2029, 1, 1, 0, 0, 0, 0, zone)
	a := accountOf(log, ofFirm, now)
	state := jobs.Refold(id(0xa, 1), log)
	counting := map[int64]bool{}
	for _, e := range entriesOf(state, log) {
		counting[e.Seq] = e.Apart == ""
	}
	known := figuresOf(state, log, now)
	for _, an := range a.Answers {
		answerHolds(t, an, counting)
		for _, text := range texts(an) {
			for _, figure := range known.unknown(text) {
				t.Errorf("%s: %q is not from the fold: %q", an.Key, figure, text)
			}
		}
	}
	spoken(t, a)
	turned := slices.Clone(log)
	slices.Reverse(turned)
	if diff := gocmp.Diff(a.Answers, accountInOrder(turned, log, now).Answers); diff != "" {
		t.Errorf("the order of arrival matters:\n%s", diff)
	}
}

// accountInOrder folds a log in another order of arrival.
func accountInOrder(arrived, log []events.Stored, now time.Time) answers.Account {
	state := jobs.Refold(id(0xa, 1), arrived)
	return answers.Of(state, entriesOf(state, log), answers.About{Job: ofJob, Firm: ofFirm, Zone: zone, Now: now, Names: map[events.ID]string{lead: "Ines Level"}})
}

// answerHolds checks that an answer says something, that it says of nothing that it is
// not recorded, that its figures rest on records that are there, and that each figure
// of its sentences stands among them.
func answerHolds(t *rapid.T, an answers.Answer, counting map[int64]bool) {
	if len(an.Say) == 0 || an.Empty != strings.HasPrefix(an.Say[0], "Not recorded: ") {
		t.Errorf("%s: empty %t: %q", an.Key, an.Empty, an.Say)
	}
	facts := ""
	for _, f := range an.Facts {
		facts += f.Name + " " + f.Value + "\n"
		for _, seq := range f.Lines {
			if there, known := counting[seq]; !known || !there && an.Key != answers.Check {
				t.Errorf("%s: %q rests on record %d, which does not count", an.Key, f.Name, seq)
			}
		}
	}
	for _, s := range an.Say {
		for _, length := range lengthIn.FindAllString(s, -1) {
			if !strings.Contains(facts, length) {
				t.Errorf("%s: %q is no click away: %q\n%s", an.Key, length, s, facts)
			}
		}
		if s != strings.TrimSpace(s) || strings.Contains(s, "  ") || strings.ContainsRune(s, unicode.ReplacementChar) {
			t.Errorf("%s: %q", an.Key, s)
		}
	}
}

// spoken checks that no word of the trade stands unexplained.
func spoken(t *rapid.T, a answers.Account) {
	explained := map[string]bool{}
	for _, w := range a.Words {
		explained[strings.ToLower(w.Word)] = true
	}
	for _, an := range a.Answers {
		for _, s := range an.Say {
			for _, found := range ofTrade.FindAllStringSubmatch(s, -1) {
				if word := strings.ToLower(found[1]); !explained[word] {
					t.Errorf("%s: %q is not explained: %q", an.Key, word, s)
				}
			}
			if word := neverSaid.FindString(s); word != "" {
				t.Errorf("%s: %q is no word of an owner's: %q", an.Key, word, s)
			}
		}
	}
}

var (
	ofTrade   = regexp.MustCompile(`(?i)\b(stump|bearer|packer|pigsty|jacked|footing|pad|joist)s?\b`)
	neverSaid = regexp.MustCompile(`(?i)\b(datum|staff|blocking|set-up|remaining|as found|face|support|fold|event)s?\b`)

	lengthIn = regexp.MustCompile(`[±+−]?\d+(\.\d+)? mm`)
	dateIn   = regexp.MustCompile(`\d{1,2} [A-Z][a-z]+ \d{4}`)
	numberIn = regexp.MustCompile(`\d+(\.\d+)?`)
)

func texts(an answers.Answer) []string {
	out := slices.Clone(an.Say)
	for _, f := range an.Facts {
		out = append(out, f.Name+": "+f.Value)
	}
	return out
}

// figures are all that a fold and its records say.
type figures struct {
	typed   []string // by people, and by the program's rules, the longest first
	dates   map[string]bool
	lengths map[string]bool
	most    int // as many as anything can be counted
}

func figuresOf(state *jobs.State, log []events.Stored, now time.Time) figures {
	f := figures{dates: map[string]bool{}, lengths: map[string]bool{}, most: len(log) + 5}
	var all []float64
	collect(plain(state.Picture(now)), &f, &all)
	for _, e := range log {
		f.dates[e.At.In(zone).Format("2 January 2006")] = true
		collect(plain(e.Body), &f, &all)
	}
	for _, mm := range all {
		f.length(mm)
	}
	heights := heightsOf(state.Picture(now))
	for _, track := range state.Tracks() {
		for _, r := range track.Reads {
			heights = append(heights, r.MM)
			f.dates[r.On.In(zone).Format("2 January 2006")] = true
		}
		_, why, _ := strings.Cut(track.Words, ": ")
		f.typed = append(f.typed, why)
	}
	for _, x := range heights {
		for _, y := range heights {
			f.length(x - y)
		}
	}
	slices.SortFunc(f.typed, func(a, b string) int { return cmp.Compare(len(b), len(a)) })
	return f
}

// heightsOf are the heights of which an account says differences.
func heightsOf(p jobs.Picture) (all []float64) {
	for _, s := range p.Supports {
		for _, f := range []*jobs.Figure{s.Survey, s.AsFound, s.Present} {
			if f != nil {
				all = append(all, f.MM)
			}
		}
		if s.Target != nil {
			all = append(all, *s.Target)
		}
	}
	for _, s := range p.Spots {
		for _, f := range []*jobs.Figure{s.Survey, s.AsFound, s.Present} {
			if f != nil {
				all = append(all, f.MM)
			}
		}
	}
	return all
}

func (f figures) length(mm float64) {
	u := ofFirm.Units
	for _, text := range []string{u.ShowWith(mm), u.ShowLimit(mm) + " mm", u.ShowSD(mm) + " mm", u.ShowSigned(mm) + " mm"} {
		f.lengths[text] = true
	}
}

func plain(v any) any {
	raw, err := json.Marshal(v)
	if err != nil {
		panic(err)
	}
	var out any
	if len(raw) > 0 && json.Unmarshal(raw, &out) != nil {
		return nil
	}
	return out
}

// collect gathers the numbers and words of plain values.
func collect(v any, f *figures, all *[]float64) {
	switch v := v.(type) {
	case float64:
		if v > -2000 && v < 2000 && !slices.Contains(*all, v) {
			*all = append(*all, v)
		}
	case string:
		if day, err := time.Parse(time.DateOnly, v); err == nil {
			f.dates[day.Format("2 January 2006")] = true
		} else if strings.ContainsFunc(v, unicode.IsDigit) {
			f.typed = append(f.typed, v)
		}
	case []any:
		for _, one := range v {
			collect(one, f, all)
		}
	case map[string]any:
		for _, one := range v {
			collect(one, f, all)
		}
	}
}

// unknown are the numbers of a text that neither the fold nor anybody said.
func (f figures) unknown(text string) (out []string) {
	for _, typed := range f.typed {
		text = strings.ReplaceAll(text, typed, "·")
	}
	text = ofRule.ReplaceAllString(text, "·")
	text = take(text, dateIn, f.dates, &out)
	text = take(text, lengthIn, f.lengths, &out)
	for _, n := range numberIn.FindAllString(text, -1) {
		if count, err := strconv.Atoi(n); err != nil || count > f.most {
			out = append(out, n)
		}
	}
	return out
}

// ofRule are the names of rules and what they ask, the ± of a height, and amounts.
var ofRule = regexp.MustCompile(`1:200|tolerances 2015|highest less lowest at most \d+ mm|±\d+|\d+\.00 AUD`)

// take removes what a pattern finds, and notes what of it is not known.
func take(text string, of *regexp.Regexp, known map[string]bool, out *[]string) string {
	return of.ReplaceAllStringFunc(text, func(found string) string {
		if !known[found] && !known[strings.TrimLeft(found, "±+−")] {
			*out = append(*out, found)
		}
		return "·"
	})
}
