package eventstest_test

import (
	"testing"

	"relevel/events/eventstest"
)

func TestMemLogRestores(t *testing.T) {
	eventstest.Restores(t, func(*testing.T) eventstest.RestoringLog { return eventstest.NewMemLog() })
}
