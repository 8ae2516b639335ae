package s3test_test

import (
	"net/http"
	"os"
	"testing"

	"relevel/events/s3photos/s3test"
)

func TestStartAndStop(t *testing.T) {
	var url string
	t.Run("running", func(t *testing.T) {
		url = "http://" + s3test.Start(t).Endpoint + "/"
		resp, err := http.Get(url)
		if err != nil {
			t.Fatal(err)
		}
		resp.Body.Close()
		if resp.StatusCode != http.StatusForbidden {
			t.Errorf("without a signature the server answers %s, want 403", resp.Status)
		}
	})
	if _, err := http.Get(url); err == nil {
		t.Error("the server outlived its test")
	}
}

func TestInstallOK(t *testing.T) {
	first, err := s3test.Install(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	info, err := os.Stat(first)
	if err != nil || info.Mode().Perm()&0o111 == 0 {
		t.Fatalf("%s: %v, %v; want a program", first, info, err)
	}
	if again, err := s3test.Install(t.Context()); err != nil || again != first {
		t.Errorf("second Install = %s, %v; want %s", again, err, first)
	}
}
