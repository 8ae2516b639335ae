// Command stack does what needs the tables of functions: it has deep stacks grow and be
// swept while goroutines take turns, runs deferred calls, recovers, and falls at last.
package main

import (
	"fmt"
	"runtime"
	"strings"
	"sync"
)

type node struct {
	left, right *node
	said        string
}

// grow makes a tree on a deep stack that the collector walks meanwhile.
func grow(depth int) (n *node) {
	defer func() { n.said = fmt.Sprint(depth) }()
	n = &node{}
	if depth == 0 {
		runtime.GC()
		return n
	}
	if depth%3 == 0 {
		n.left = grow(depth - 1)
	} else {
		n.right = grow(depth - 1)
	}
	runtime.Gosched()
	return n
}

func (n *node) count() int {
	if n == nil {
		return 0
	}
	return 1 + n.left.count() + n.right.count()
}

// caught returns what a call said when it broke.
func caught(f func()) (said any) {
	defer func() { said = recover() }()
	f()
	return nil
}

func fall(list []int) int { return list[len(list)] }

func main() {
	var wait sync.WaitGroup
	counts := make([]int, 8)
	for i := range counts {
		wait.Go(func() { counts[i] = grow(500 + i).count() })
	}
	wait.Wait()
	fmt.Println(counts)
	fmt.Println(caught(func() { fall(nil) }))
	pc, _, _, _ := runtime.Caller(0)
	fmt.Println(strings.HasSuffix(runtime.FuncForPC(pc).Name(), "main.main"))
	fall(counts)
}
