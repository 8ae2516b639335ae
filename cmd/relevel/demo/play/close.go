package play

import (
	"context"
	"errors"
	"fmt"
	"math"
	"strings"

	"relevel/jobs"
)

// close shows how the job ended, and returns an error when that is not as
// agreed.
func (p *player) close(ctx context.Context) error {
	if err := p.book.Refresh(ctx); err != nil {
		return err
	}
	job := p.Picture()
	faults := append(p.faults(job), p.untrue()...)
	p.page.heading("Handed over")
	p.page.plan(p.House, asFound(job), "Before, mm from the floor at the front door:")
	p.page.plan(p.House, present(job), "After:")
	p.summary(job)
	if len(faults) > 0 {
		return errors.New("the job did not end as agreed: " + strings.Join(faults, "; "))
	}
	p.page.line("\nEverything is as agreed.")
	return nil
}

func (p *player) summary(job jobs.Picture) {
	left := "nothing on a jack, out or on blocking"
	if len(job.Brief.Dangerous) > 0 {
		left = strings.Join(job.Brief.Dangerous, ", ")
	}
	cut := 0
	for _, n := range p.packers {
		cut += n
	}
	p.page.line("")
	for _, row := range [][2]string{
		{"events in the book", fmt.Sprintf("%d, all acknowledged", job.Seq)},
		{"rounds", fmt.Sprintf("%d, then %d packers, %d for %d supports", rounds, cut, cut, len(job.Supports))},
		{"readings", fmt.Sprintf("%d, %d of them misread, noticed and voided; %d stop with its go-ahead", p.readings, p.voided, p.stops)},
		{"tolerance agreed", fmt.Sprintf("within %.0f mm of %.0f", withinMM, aimMM)},
		{"greatest remaining", fmt.Sprintf("%.1f mm by the book", greatest(job))},
		{"the floor in truth", fmt.Sprintf("at most %.1f mm off, which only the simulation knows", math.Abs(p.Floor.Off(aimMM)))},
		{"signed", fmt.Sprintf("%d of %d", job.Brief.Signed, job.Brief.Supports)},
		{"left behind", left},
	} {
		p.page.line("  %-20s %s", row[0], row[1])
	}
}

// faults lists what the book shows that should not be so at the end of a job.
func (p *player) faults(job jobs.Picture) []string {
	var out []string
	if int64(p.book.Sent) != job.Seq {
		out = append(out, fmt.Sprintf("%d events were acknowledged and the book has %d", p.book.Sent, job.Seq))
	}
	if len(job.SetAside) > 0 {
		out = append(out, fmt.Sprintf("%d events do not count, the first because %s", len(job.SetAside), job.SetAside[0].Reason))
	}
	for _, d := range job.Brief.Dangerous {
		out = append(out, "left behind: "+d)
	}
	for _, s := range job.Supports {
		out = append(out, supportFaults(s)...)
		if n := p.packers[s.ID]; n != 1 {
			out = append(out, fmt.Sprintf("%s took %d final packers", s.ID, n))
		}
	}
	if job.Stage != "done" {
		out = append(out, "the job's stage is "+job.Stage)
	}
	return out
}

func supportFaults(s jobs.Support) []string {
	switch {
	case s.State != jobs.IsSigned:
		return []string{fmt.Sprintf("%s is %s and not signed", s.ID, s.State)}
	case s.Remaining == nil:
		return []string{s.ID + " has no remaining lift"}
	case math.Abs(s.Remaining.MM) > withinMM:
		return []string{fmt.Sprintf("%s has %.1f mm to go", s.ID, s.Remaining.MM)}
	}
	return nil
}

// readingMM is what the last readings may be off by, all with the same set-up: 95
// times in 100 (1.645 times the ± of 0.93 mm that the book gives them).
const readingMM = 1.5

// untrue compares the book with the floor as it truly lies. Nobody can know that
// better than by the readings.
func (p *player) untrue() []string {
	if off := p.Floor.Off(aimMM); math.Abs(off) > withinMM+readingMM {
		return []string{fmt.Sprintf("the floor truly lies %.1f mm off at its worst", off)}
	}
	return nil
}

func greatest(job jobs.Picture) float64 {
	most := 0.0
	for _, s := range job.Supports {
		if s.Remaining != nil {
			most = math.Max(most, math.Abs(s.Remaining.MM))
		}
	}
	return most
}

func asFound(job jobs.Picture) map[string]float64 {
	return pick(job, func(s jobs.Support) *jobs.Figure { return s.AsFound })
}

func present(job jobs.Picture) map[string]float64 {
	return pick(job, func(s jobs.Support) *jobs.Figure { return s.Present })
}

func pick(job jobs.Picture, of func(jobs.Support) *jobs.Figure) map[string]float64 {
	numbers := map[string]float64{}
	for _, s := range job.Supports {
		if f := of(s); f != nil {
			numbers[s.ID] = math.Round(f.MM)
		}
	}
	return numbers
}
