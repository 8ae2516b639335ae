// Package adapter hides the clock behind a dot import.
package adapter

import (
	_ "relevel/events"
	. "time"
)

var start = Now()
