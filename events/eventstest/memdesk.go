package eventstest

import (
	"bytes"
	"cmp"
	"context"
	"fmt"
	"slices"

	"relevel/events"
)

// Apart implements events.Desk.
func (m *MemLog) Apart(ctx context.Context, firm events.ID, settled bool, limit int) (list []events.Case, err error) {
	err = m.call(ctx, "apart", func() error {
		for key, q := range m.kept[firm] {
			if last := m.last(firm, key); last.Settled() == settled {
				list = append(list, events.Case{Quarantined: q, Last: last})
			}
		}
		slices.SortFunc(list, func(a, b events.Case) int {
			ka, kb := a.Key(), b.Key()
			return cmp.Or(b.At.Compare(a.At), bytes.Compare(ka[:], kb[:]))
		})
		list = list[:min(max(limit, 0), len(list))]
		return nil
	})
	return list, err
}

func (m *MemLog) last(firm events.ID, key events.Digest) events.Decision {
	all := m.said[firm][key]
	if len(all) == 0 {
		return events.Decision{}
	}
	return all[len(all)-1]
}

// FindApart implements events.Desk.
func (m *MemLog) FindApart(ctx context.Context, firm events.ID, key events.Digest) (q events.Quarantined, all []events.Decision, err error) {
	err = m.call(ctx, "find apart", func() error {
		var known bool
		if q, known = m.kept[firm][key]; !known {
			return fmt.Errorf("find in the quarantine: %w", events.ErrNotFound)
		}
		all = slices.Clone(m.said[firm][key])
		return nil
	})
	return q, all, err
}

// Decide implements events.Desk.
func (m *MemLog) Decide(ctx context.Context, d events.Decision) error {
	if err := d.Check(); err != nil {
		return err
	}
	return m.call(ctx, "decide", func() error {
		if _, known := m.kept[d.Firm][d.Key]; !known {
			return fmt.Errorf("decide: %w", events.ErrNotFound)
		}
		all := m.said[d.Firm][d.Key]
		switch {
		case d.N >= 1 && d.N <= len(all) && all[d.N-1].Same(d):
			return nil
		case d.N != len(all)+1:
			return fmt.Errorf("decide: %w", events.ErrConflict)
		}
		if m.said[d.Firm] == nil {
			m.said[d.Firm] = make(map[events.Digest][]events.Decision)
		}
		d.At = d.At.UTC()
		m.said[d.Firm][d.Key] = append(all, d)
		return nil
	})
}

// Undecided implements events.Desk.
func (m *MemLog) Undecided(ctx context.Context, firm events.ID) (map[events.ID]int, error) {
	open := map[events.ID]int{}
	err := m.call(ctx, "undecided", func() error {
		for key, q := range m.kept[firm] {
			if !m.last(firm, key).Settled() {
				open[q.Job]++
			}
		}
		return nil
	})
	return open, err
}
