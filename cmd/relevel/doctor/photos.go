package doctor

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"net/http"
	"os"
	"path/filepath"
	"time"

	"relevel/events/s3photos"
)

func (v *visit) photoChecks() []Check {
	if v.S3 == nil {
		return []Check{{"Photos", "folder", v.photoFolder}}
	}
	return []Check{
		{"Photos", "S3", v.tryS3},
		{"Photos", "bucket", v.bucket},
		{"Photos", "clock", v.clockOfS3},
	}
}

// photoFolder writes a file to where photos are kept, and removes it.
func (v *visit) photoFolder(context.Context) []Finding {
	folder := filepath.Join(v.Data, "photos")
	if _, err := os.Stat(folder); errors.Is(err, os.ErrNotExist) {
		return look("%s is not there yet", folder).cure("the first start of the server makes it")
	}
	f, err := os.CreateTemp(folder, ".doctor-*")
	if err != nil {
		return wrong("nothing can be written to %s: %v", folder, plain(err)).cure("give the folder to the account that the server runs as, and look for room on the disk")
	}
	_, err = f.WriteString("a try of relevel doctor\n")
	if err := errors.Join(err, f.Sync(), f.Close(), os.Remove(f.Name())); err != nil {
		return wrong("nothing can be kept in %s: %v", folder, err).cure("look for room on the disk, and at its health")
	}
	return ok("kept in %s", folder)
}

// tryS3 goes through all that is asked of an S3 server.
func (v *visit) tryS3(ctx context.Context) []Finding {
	store, err := s3photos.New(*v.S3)
	if err != nil {
		return wrong("%v", err).cure("mend the setting")
	}
	careless := false
	for _, t := range store.Try(ctx, "doctor/"+rand.Text()) {
		switch {
		case t.Err == nil:
		case errors.Is(t.Err, s3photos.ErrTakesAnything):
			careless = true // what is wrong comes before it
		case errors.Is(t.Err, s3photos.ErrNoBucket):
			return look("%s answers, and has no bucket %s yet", v.S3.Endpoint, v.S3.Bucket).cure("the first start of the server makes it, if its key may; else make it by hand")
		default:
			return wrong("%s does not %s: %v", v.S3.Endpoint, t.Step, t.Err).cure("%s", cureOfS3(t))
		}
	}
	if careless {
		return look("%s: %v", v.S3.Endpoint, s3photos.ErrTakesAnything).cure("photos are read back and hashed, so damage is found, but later: see that RELEVEL_WORKER_DATABASE_URL is set")
	}
	return ok("%s takes, gives back, lists and removes, and refuses a wrong digest", v.S3.Endpoint)
}

func cureOfS3(t s3photos.Trial) string {
	if t.Step == s3photos.TryBucket {
		return "see that RELEVEL_S3_ENDPOINT, _BUCKET, _KEY, _SECRET and _REGION are right and that the server can be reached from here"
	}
	return "let the key put, get, head, list and delete in this bucket; a server that cannot is not fit for photos"
}

// bucket says what is good to know of it.
func (v *visit) bucket(ctx context.Context) []Finding {
	store, err := s3photos.New(*v.S3)
	if err != nil {
		return nil
	}
	kept, err := store.Versioned(ctx)
	if err != nil {
		return nil // many servers know no versions
	}
	if kept {
		return ok("%s keeps what is removed: erasing at a person's request has to remove the older versions, too", v.S3.Bucket)
	}
	return ok("%s keeps no older versions", v.S3.Bucket)
}

// clockOfS3 matters because a request that is signed by a wrong clock is refused.
func (v *visit) clockOfS3(ctx context.Context) []Finding {
	scheme := "https"
	if v.S3.Insecure {
		scheme = "http"
	}
	r, err := http.NewRequestWithContext(ctx, http.MethodHead, fmt.Sprintf("%s://%s/", scheme, v.S3.Endpoint), nil)
	if err != nil {
		return nil
	}
	before := v.Now()
	resp, err := http.DefaultClient.Do(r)
	if err != nil {
		return nil // said above
	}
	resp.Body.Close()
	there, err := http.ParseTime(resp.Header.Get("Date"))
	if err != nil {
		return nil
	}
	return compareClocks("the S3 server's", there, before.Truncate(time.Second), v.Now()) // the header has whole seconds
}
