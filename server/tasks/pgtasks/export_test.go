package pgtasks

import "time"

// AnswerWithin changes how long a statement may take, until it is put back.
func AnswerWithin(d time.Duration) (putBack func()) {
	usual := answerWithin
	answerWithin = d
	return func() { answerWithin = usual }
}
