package jobs_test

import (
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"relevel/jobs"
)

func TestNumbers(t *testing.T) {
	for name, c := range map[string]struct {
		of            []int64
		runs, missing jobs.Numbers
		highest       int64
	}{
		"None":       {nil, nil, nil, 0},
		"All":        {[]int64{1, 2, 3}, jobs.Numbers{{1, 3}}, nil, 3},
		"FirstGone":  {[]int64{2}, jobs.Numbers{{2, 2}}, jobs.Numbers{{1, 1}}, 2},
		"TwoGaps":    {[]int64{9, 1, 4, 5, 1}, jobs.Numbers{{1, 1}, {4, 5}, {9, 9}}, jobs.Numbers{{2, 3}, {6, 8}}, 9},
		"NoCounters": {[]int64{0, -4, 1, 1 << 53, 1<<63 - 1}, jobs.Numbers{{1, 1}}, nil, 1},
	} {
		t.Run(name, func(t *testing.T) {
			got := jobs.NumbersOf(c.of...)
			if diff := cmp.Diff([]jobs.Numbers{c.runs, c.missing}, []jobs.Numbers{got, got.Missing()}); diff != "" {
				t.Errorf("runs and what is missing (-want +got):\n%s", diff)
			}
			if got.Highest() != c.highest {
				t.Errorf("highest %d, want %d", got.Highest(), c.highest)
			}
		})
	}
}

// Numbers in any order and any portions come to the same runs; together with what is
// missing they are all from 1 to the highest, and both add up.
func TestNumbersInAnyPortions(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		list := rapid.SliceOf(rapid.Int64Range(1, 60)).Draw(t, "numbers")
		at := rapid.IntRange(0, len(list)).Draw(t, "cut")
		first := jobs.NumbersOf(list[:at]...)
		kept := slices.Clone(first)
		both, whole := first.With(jobs.NumbersOf(list[at:]...)), jobs.NumbersOf(list...)
		if diff := cmp.Diff(whole, both); diff != "" {
			t.Fatalf("in two portions (-whole +portions):\n%s", diff)
		}
		if diff := cmp.Diff(kept, first); diff != "" {
			t.Fatalf("the set itself changed:\n%s", diff)
		}
		distinct := slices.Compact(slices.Sorted(slices.Values(list)))
		if whole.Count() != int64(len(distinct)) || whole.Count()+whole.Missing().Count() != whole.Highest() {
			t.Fatalf("%v of %v lacks %v", whole, distinct, whole.Missing())
		}
		if n := whole.Highest(); n > 0 && !cmp.Equal(whole.With(whole.Missing()), jobs.Numbers{{1, n}}) {
			t.Fatalf("%v lacks %v", whole, whole.Missing())
		}
	})
}

func TestPhoneReportCheck(t *testing.T) {
	good := jobs.PhoneReport{Version: "1.0", Unsent: 2, Photos: 5}
	if err := good.Check(); err != nil {
		t.Error(err)
	}
	for field, bad := range map[string]jobs.PhoneReport{
		"version": {}, "unsent": {Version: "1", Unsent: -1}, "photos": {Version: "1", Photos: -1},
		"storage_used": {Version: "1", StorageUsed: -1}, "storage_quota": {Version: "1", StorageQuota: -1},
	} {
		wantField(t, bad.Check(), field)
	}
}
