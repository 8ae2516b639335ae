// Package ignored lies where the go command does not look.
package ignored

import _ "relevel/server"
