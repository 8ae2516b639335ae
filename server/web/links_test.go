package web

import "testing"

func TestWithoutLinks(t *testing.T) {
	may := func(address string) bool { return address != "/kit" && address != "/a?b=1&c=2" }
	for page, want := range map[string]string{
		`<a class="act" href="/kit">Kit</a> <a class="act" href="/">Jobs</a>`: ` <a class="act" href="/">Jobs</a>`,
		`from <a href="/kit">stock</a>.`:                                      `from stock.`,
		`<a class="do danger" href="/kit">set <b>it</b></a>`:                  `<span class="do danger">set <b>it</b></span>`,
		`<a class="word" href="/a?b=1&amp;c=2">x</a>`:                         ``,
		`<a href="#main">To the page</a><a href="?turn=1">Turn</a>`:           `<a href="#main">To the page</a><a href="?turn=1">Turn</a>`,
		`<a class="waits word" href="/kit">1 kept apart</a>`:                  `<span class="waits word">1 kept apart</span>`,
		`<a class="" href="/kit">x</a>`:                                       `<span class="">x</span>`,
		`<a data-href="/kit" href="/jobs/1">x</a>`:                            `<a data-href="/kit" href="/jobs/1">x</a>`,
		"<a class=\"act\"\nhref=\"/kit\">two\nlines</a>!":                     `!`,
	} {
		if got := string(WithoutLinks([]byte(page), may)); got != want {
			t.Errorf("%s\n gives %s\n  want %s", page, got, want)
		}
	}
}
