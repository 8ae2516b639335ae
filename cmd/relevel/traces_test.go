package main

import (
	"compress/gzip"
	"io"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"regexp"
	"sync"
	"syscall"
	"testing"

	collector "go.opentelemetry.io/proto/otlp/collector/trace/v1"
	"google.golang.org/protobuf/proto"
)

// receiver takes traces over OTLP and http, as a collector does.
type receiver struct {
	mu       sync.Mutex
	services map[string]bool
	spans    map[string]int // by name
}

func (c *receiver) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	body := r.Body
	if r.Header.Get("Content-Encoding") == "gzip" {
		body, _ = gzip.NewReader(r.Body)
	}
	b, err := io.ReadAll(body)
	var sent collector.ExportTraceServiceRequest
	if err != nil || r.URL.Path != "/v1/traces" || proto.Unmarshal(b, &sent) != nil {
		w.WriteHeader(http.StatusBadRequest)
		return
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	for _, of := range sent.ResourceSpans {
		for _, a := range of.Resource.Attributes {
			if a.Key == "service.name" {
				c.services[a.Value.GetStringValue()] = true
			}
		}
		for _, scope := range of.ScopeSpans {
			for _, span := range scope.Spans {
				c.spans[span.Name]++
			}
		}
	}
}

// Traces go where the standard variables say, the last of them when the server ends.
func TestTracesAreSent(t *testing.T) {
	c := &receiver{services: map[string]bool{}, spans: map[string]int{}}
	at := httptest.NewServer(c)
	defer at.Close()
	dir := filepath.Join(openFolder(t), "data")
	p := launch(t, []string{envTraces + "=" + at.URL, "OTEL_SERVICE_NAME=levels"}, "serve", "--listen", "127.0.0.1:0", "--data", dir)
	url := regexp.MustCompile(`serves at (http://\S+)`).FindStringSubmatch(p.line() + p.line())
	fetch(t, ready{URL: url[1], Token: tokenIn(t, dir)}, "/api/v1/jobs")
	if err := p.end(syscall.SIGTERM); err != nil {
		t.Errorf("told to stop, it ended with %v: %s", err, p.errs)
	}
	if !c.services["levels"] || c.spans["GET /api/v1/jobs"] != 1 || c.spans["select job"] == 0 {
		t.Errorf("of %v came %v", c.services, c.spans)
	}
}

// Traces are on where a collector is named, unless they are turned off.
func TestReadTraces(t *testing.T) {
	for name, test := range map[string]struct {
		env  environment
		want bool
	}{
		"Nothing":  {environment{}, false},
		"Endpoint": {environment{envTraces: "http://127.0.0.1:4318"}, true},
		"Alone":    {environment{envTracesAlone: "http://127.0.0.1:4318/v1/traces"}, true},
		"Off":      {environment{envTraces: "http://127.0.0.1:4318", envTracesOff: "true"}, false},
		"None":     {environment{envTraces: "http://127.0.0.1:4318", envTracesExporter: "none"}, false},
	} {
		if got, err := readTraces(test.env); got != test.want || err != nil {
			t.Errorf("%s: %t, %v", name, got, err)
		}
	}
	if _, err := readTraces(environment{envTraces: "http://127.0.0.1:4317", envTracesProtocol: "grpc"}); err == nil {
		t.Error("a protocol that is not spoken is no error")
	}
}
