// Package s3photos keeps photos and sound notes in a bucket of any S3 server.
//
// It relies on PUT with a checksum, GET, HEAD and DELETE alone, and on the size
// limit of a file: below 16 MiB one PUT is one whole object. The digest goes as
// a header that the signature covers and the server compares, not behind the
// body in a trailer, which some servers refuse over http. S3 does not promise
// that a stored object is on a disk, so Durable is false and Photos reads back.
package s3photos

import (
	"context"
	"encoding/base64"
	"errors"
	"fmt"
	"io"
	"net/http"
	"time"

	"github.com/minio/minio-go/v7"
	"github.com/minio/minio-go/v7/pkg/credentials"

	"relevel/events"
	"relevel/levelling"
)

// Config says where the bucket is.
type Config struct {
	Endpoint string // host and port, without scheme
	Bucket   string // made at the first Put if it is missing
	Region   string // "" is us-east-1
	Key      string // access key
	Secret   string
	Insecure bool          // http instead of https
	Timeout  time.Duration // of one call, and of each wait for the next bytes; 0 is 30 s
}

const (
	defaultRegion  = "us-east-1"
	defaultTimeout = 30 * time.Second
	attempts       = 3
	// slowest is the upload rate, in bytes per second, that a large file is
	// given time for on top of the timeout.
	slowest = 512 << 10
	pause   = 200 * time.Millisecond // before the second attempt; doubles
)

// Store is an events.Objects in a bucket.
type Store struct {
	client  minio.Core
	bucket  string
	region  string
	timeout time.Duration
}

// New makes a store. It does not connect: the server may be away when this
// program starts.
func New(c Config) (*Store, error) {
	if c.Bucket == "" {
		return nil, levelling.Bad("bucket", "the name of the bucket")
	}
	if c.Region == "" {
		c.Region = defaultRegion
	}
	if c.Timeout == 0 {
		c.Timeout = defaultTimeout
	}
	transport, err := minio.DefaultTransport(!c.Insecure)
	if err != nil {
		return nil, fmt.Errorf("prepare connection to S3: %w", err)
	}
	transport.ResponseHeaderTimeout = c.Timeout
	client, err := minio.New(c.Endpoint, &minio.Options{
		Creds:      credentials.NewStaticV4(c.Key, c.Secret, ""),
		Secure:     !c.Insecure,
		Region:     c.Region,
		Transport:  transport,
		MaxRetries: attempts,
	})
	if err != nil {
		return nil, levelling.Bad("endpoint", fmt.Sprintf("host and port of the S3 server: %v", err))
	}
	return &Store{minio.Core{Client: client}, c.Bucket, c.Region, c.Timeout}, nil
}

// Durable implements events.Objects.
func (s *Store) Durable() bool { return false }

// EnsureBucket makes the bucket if it is missing. It also tells whether the
// server can be reached.
func (s *Store) EnsureBucket(ctx context.Context) error {
	call, cancel := context.WithTimeout(ctx, s.timeout)
	defer cancel()
	exists, err := s.client.BucketExists(call, s.bucket)
	if err == nil && !exists {
		err = s.makeBucket(call)
	}
	return translate(ctx, "find bucket", err)
}

func (s *Store) makeBucket(ctx context.Context) error {
	err := s.client.MakeBucket(ctx, s.bucket, minio.MakeBucketOptions{Region: s.region})
	switch minio.ToErrorResponse(err).Code {
	case minio.BucketAlreadyOwnedByYou, minio.BucketAlreadyExists: // another server was quicker
		return nil
	}
	return err
}

// Put implements events.Objects. The client library would repeat a seekable
// body by itself; it is shown a plain reader, because before each repeat we
// first look whether the last attempt did arrive.
func (s *Store) Put(ctx context.Context, o events.Object, body io.ReaderAt) (told bool, err error) {
	limit := s.timeout + time.Duration(o.Bytes/slowest)*time.Second
	call, cancel := context.WithTimeout(ctx, limit)
	defer cancel()
	for attempt := range attempts {
		if attempt > 0 && !wait(call, pause<<(attempt-1)) {
			break
		}
		sent := &sentBody{r: io.NewSectionReader(body, 0, o.Bytes), left: o.Bytes}
		told, err = s.put(call, o, sent)
		if broken := sent.end(); broken != nil {
			return false, fmt.Errorf("read body: %w", broken)
		}
		if err == nil {
			return told, nil
		}
		if final(err) {
			break
		}
		if minio.ToErrorResponse(err).Code == minio.NoSuchBucket {
			if err = s.makeBucket(call); err != nil {
				break
			}
			continue
		}
		if s.arrived(call, o) {
			return true, nil
		}
	}
	return false, translate(ctx, "put object", err)
}

func (s *Store) put(ctx context.Context, o events.Object, body io.Reader) (told bool, err error) {
	digest := base64.StdEncoding.EncodeToString(o.SHA256[:])
	info, err := s.client.PutObject(ctx, s.bucket, o.Key.String(), body, o.Bytes, "", o.SHA256.String(),
		minio.PutObjectOptions{
			ContentType:          o.Media,
			DisableContentSha256: true, // no signature of each chunk: the digest above is signed instead
			UserMetadata: map[string]string{
				// kept by the server, so that HEAD can tell it
				"X-Amz-Checksum-Sha256": digest,
			},
		})
	return err == nil && info.ChecksumSHA256 == digest, err
}

// arrived looks after a failed upload whether the object is there all the same:
// the server may have answered into a connection that was already gone. Without
// a checksum from the server the answer is no, for an older object of the same
// size may lie there.
func (s *Store) arrived(ctx context.Context, o events.Object) bool {
	info, err := s.client.StatObject(ctx, s.bucket, o.Key.String(), minio.StatObjectOptions{Checksum: true})
	return err == nil && info.Size == o.Bytes &&
		info.ChecksumSHA256 == base64.StdEncoding.EncodeToString(o.SHA256[:])
}

// wait pauses before a repeat, and reports whether there is time for one.
func wait(ctx context.Context, d time.Duration) bool {
	select {
	case <-ctx.Done():
		return false
	case <-time.After(d):
		return true
	}
}

// Stat implements events.Objects.
func (s *Store) Stat(ctx context.Context, k events.Key) (int64, error) {
	call, cancel := context.WithTimeout(ctx, s.timeout)
	defer cancel()
	info, err := s.client.StatObject(call, s.bucket, k.String(), minio.StatObjectOptions{})
	return info.Size, translate(ctx, "stat object", err)
}

// Delete implements events.Objects.
func (s *Store) Delete(ctx context.Context, k events.Key) error {
	call, cancel := context.WithTimeout(ctx, s.timeout)
	defer cancel()
	err := s.client.RemoveObject(call, s.bucket, k.String(), minio.RemoveObjectOptions{})
	if err = translate(ctx, "delete object", err); errors.Is(err, events.ErrNotFound) {
		return nil
	}
	return err
}

// Open implements events.Objects.
func (s *Store) Open(ctx context.Context, k events.Key) (io.ReadCloser, int64, error) {
	call, cancel := context.WithCancel(ctx)
	timer := time.AfterFunc(s.timeout, cancel)
	body, info, _, err := s.client.GetObject(call, s.bucket, k.String(), minio.GetObjectOptions{})
	timer.Stop()
	if err != nil {
		cancel()
		return nil, 0, translate(ctx, "get object", err)
	}
	return &download{body: body, ctx: ctx, cancel: cancel, timer: timer, timeout: s.timeout}, info.Size, nil
}

// final tells an answer that a repeat would only bring again.
func final(err error) bool {
	status := minio.ToErrorResponse(err).StatusCode
	return status >= 400 && status < 500 && status != http.StatusNotFound &&
		status != http.StatusRequestTimeout && status != http.StatusTooManyRequests
}

// translate turns the client's errors into the sentinels. The caller's own
// context comes first: that it ended says nothing about the store.
func translate(ctx context.Context, what string, err error) error {
	if err == nil {
		return nil
	}
	if ctx.Err() != nil {
		return fmt.Errorf("%s: %w", what, ctx.Err())
	}
	if minio.ToErrorResponse(err).Code == minio.NoSuchKey {
		return fmt.Errorf("%s: %w", what, events.ErrNotFound)
	}
	return fmt.Errorf("%w: %s: %w", events.ErrUnavailable, what, err)
}
