package s3photos

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/base64"
	"errors"
	"fmt"
	"io"

	"github.com/minio/minio-go/v7"
)

// Trial is what an S3 server did with one throwaway object.
type Trial struct {
	// Step is what was tried; Err why it is not as it has to be. What was not tried
	// after an error is left out.
	Step string
	Err  error
}

// The steps of Try, in their order.
const (
	TryBucket = "find the bucket"
	TryPut    = "take an object with its digest"
	TryHead   = "say how long it is"
	TryGet    = "give it back"
	TryList   = "list it"
	TryWrong  = "refuse another digest"
	TryDelete = "remove it"
)

// ErrTakesAnything says that a server stored bytes under a digest that is not theirs.
// Files are safe all the same: each is read back and hashed before it counts as durable.
var ErrTakesAnything = errors.New("it stores bytes under a digest that is not theirs")

// ErrNoBucket says that the bucket is not there yet. The server makes it at its start.
var ErrNoBucket = errors.New("there is no bucket of this name yet")

// Try puts a small object under a name, which nothing else may have, and goes through
// all that a Store rests on. It removes what it made and makes no bucket.
func (s *Store) Try(ctx context.Context, name string) (done []Trial) {
	body := []byte("a try of relevel doctor, which may be removed")
	step := func(name string, err error) bool {
		done = append(done, Trial{name, err})
		return err == nil
	}
	if !step(TryBucket, s.tryBucket(ctx)) || !step(TryPut, s.tryPut(ctx, name, body, body)) {
		return done
	}
	step(TryHead, s.tryHead(ctx, name, int64(len(body))))
	step(TryGet, s.tryGet(ctx, name, body))
	step(TryList, s.tryList(ctx, name))
	step(TryWrong, s.tryWrong(ctx, name+"-wrong", body))
	step(TryDelete, s.tryDelete(ctx, name))
	return done
}

func (s *Store) tryBucket(ctx context.Context) error {
	exists, err := s.client.BucketExists(ctx, s.bucket)
	if err == nil && !exists {
		return ErrNoBucket
	}
	return err
}

// tryPut sends a body under the digest of another, or its own.
func (s *Store) tryPut(ctx context.Context, name string, body, digestOf []byte) error {
	sum := sha256.Sum256(digestOf)
	_, err := s.client.PutObject(ctx, s.bucket, name, bytes.NewReader(body), int64(len(body)), "", fmt.Sprintf("%x", sum),
		minio.PutObjectOptions{
			ContentType: "text/plain", DisableContentSha256: true,
			UserMetadata: map[string]string{"X-Amz-Checksum-Sha256": base64.StdEncoding.EncodeToString(sum[:])},
		})
	return err
}

func (s *Store) tryHead(ctx context.Context, name string, size int64) error {
	info, err := s.client.StatObject(ctx, s.bucket, name, minio.StatObjectOptions{})
	if err == nil && info.Size != size {
		return fmt.Errorf("it says %d bytes of %d", info.Size, size)
	}
	return err
}

func (s *Store) tryGet(ctx context.Context, name string, body []byte) error {
	object, _, _, err := s.client.GetObject(ctx, s.bucket, name, minio.GetObjectOptions{})
	if err != nil {
		return err
	}
	defer object.Close()
	got, err := io.ReadAll(io.LimitReader(object, int64(len(body))+1))
	if err == nil && !bytes.Equal(got, body) {
		return errors.New("it gives other bytes than it took")
	}
	return err
}

func (s *Store) tryList(ctx context.Context, name string) error {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel() // ends the listing
	for one := range s.client.Client.ListObjects(ctx, s.bucket, minio.ListObjectsOptions{Prefix: name}) {
		if one.Err != nil || one.Key == name {
			return one.Err
		}
	}
	return errors.New("it is not in the list")
}

// tryWrong sends bytes under a digest that is not theirs. A server that takes them does
// no harm as long as what it gives back can be told to be wrong.
func (s *Store) tryWrong(ctx context.Context, name string, body []byte) error {
	err := s.tryPut(ctx, name, body, []byte("something else"))
	if err != nil {
		return nil
	}
	return errors.Join(ErrTakesAnything, s.client.RemoveObject(context.WithoutCancel(ctx), s.bucket, name, minio.RemoveObjectOptions{}))
}

func (s *Store) tryDelete(ctx context.Context, name string) error {
	if err := s.client.RemoveObject(context.WithoutCancel(ctx), s.bucket, name, minio.RemoveObjectOptions{}); err != nil {
		return err
	}
	_, err := s.client.StatObject(ctx, s.bucket, name, minio.StatObjectOptions{})
	if err == nil {
		return errors.New("it is still there afterwards")
	}
	return nil
}

// Versioned reports whether the bucket keeps what is removed, which a person's request
// to have something erased has to reckon with.
func (s *Store) Versioned(ctx context.Context) (bool, error) {
	c, err := s.client.GetBucketVersioning(ctx, s.bucket)
	return c.Enabled(), err
}
