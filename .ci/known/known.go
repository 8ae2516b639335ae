// Package known belongs to a module that depends on what has known advisories.
package known

import _ "golang.org/x/net/html/atom"
