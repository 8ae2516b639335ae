package tree

import _ "relevel/cmd/relevel" // a test may import anything
