// Package tree imports one thing that its list allows and one that it does not.
package tree

import (
	_ "fmt"

	_ "relevel/events"
	_ "relevel/server"
)
