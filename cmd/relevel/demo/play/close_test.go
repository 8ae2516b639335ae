package play

import (
	"testing"

	"github.com/google/go-cmp/cmp"

	"relevel/jobs"
)

func TestSupportFaults(t *testing.T) {
	left := func(mm float64) *jobs.Figure { return &jobs.Figure{MM: mm, SD: 1} }
	for _, tt := range []struct {
		name string
		s    jobs.Support
		want []string
	}{
		{"OK", jobs.Support{ID: "B1-1", State: jobs.IsSigned, Remaining: left(3)}, nil},
		{"TooLow", jobs.Support{ID: "B1-1", State: jobs.IsSigned, Remaining: left(3.5)}, []string{"B1-1 has 3.5 mm to go"}},
		{"TooHigh", jobs.Support{ID: "B1-1", State: jobs.IsSigned, Remaining: left(-4)}, []string{"B1-1 has -4.0 mm to go"}},
		{"Unsigned", jobs.Support{ID: "B1-1", State: jobs.IsFixed, Remaining: left(0)}, []string{"B1-1 is fixed and not signed"}},
		{"OnJack", jobs.Support{ID: "B1-1", State: jobs.OnJack, Remaining: left(0)}, []string{"B1-1 is on a jack and not signed"}},
		{"Unread", jobs.Support{ID: "B1-1", State: jobs.IsSigned}, []string{"B1-1 has no remaining lift"}},
	} {
		t.Run(tt.name, func(t *testing.T) {
			if diff := cmp.Diff(tt.want, supportFaults(tt.s)); diff != "" {
				t.Errorf("(-want +got):\n%s", diff)
			}
		})
	}
}
