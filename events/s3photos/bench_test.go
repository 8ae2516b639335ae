package s3photos_test

import (
	"bytes"
	"crypto/rand"
	"crypto/sha256"
	"testing"
	"time"

	"github.com/minio/minio-go/v7"
	"github.com/minio/minio-go/v7/pkg/credentials"

	"relevel/events"
	"relevel/events/eventstest"
	"relevel/events/s3photos"
	"relevel/events/s3photos/s3test"
)

// photoBytes is a usual photo of a phone.
const photoBytes = 3 << 20

// BenchmarkPut compares, on one server, the client library alone, this store,
// and the whole way in: spool, size, digest, type, PUT, HEAD and ledger.
func BenchmarkPut(b *testing.B) {
	c := s3test.Start(b)
	store := open(b, c)
	if err := store.EnsureBucket(b.Context()); err != nil {
		b.Fatal(err)
	}
	photo := make([]byte, photoBytes)
	rand.Read(photo)
	copy(photo, "\xff\xd8\xff\xe0")
	firm := eventstest.NewFirm(b)

	b.Run("bare", func(b *testing.B) { benchBare(b, c, photo) })
	b.Run("store", func(b *testing.B) {
		benchPut(b, photo, func(o events.Object, body *bytes.Reader) error {
			o.Key.Firm = firm
			_, err := store.Put(b.Context(), o, body)
			return err
		})
	})
	b.Run("photos", func(b *testing.B) {
		photos := &events.Photos{Objects: store, Ledger: new(eventstest.MemLedger), Spool: b.TempDir()}
		benchPut(b, photo, func(o events.Object, body *bytes.Reader) error {
			_, err := photos.Put(b.Context(), events.Upload{
				Firm: firm, SHA256: o.SHA256, Bytes: o.Bytes, Media: o.Media, At: time.Now(), Body: body,
			})
			return err
		})
	})
}

// benchPut puts a different photo each time; what the sender does, hashing
// included, is not measured.
func benchPut(b *testing.B, photo []byte, put func(events.Object, *bytes.Reader) error) {
	b.SetBytes(int64(len(photo)))
	for b.Loop() {
		b.StopTimer()
		rand.Read(photo[100:200])
		sum := events.Digest(sha256.Sum256(photo))
		o := events.Object{Key: events.Key{SHA256: sum}, Bytes: int64(len(photo)), SHA256: sum, Media: events.MediaJPEG}
		b.StartTimer()
		if err := put(o, bytes.NewReader(photo)); err != nil {
			b.Fatal(err)
		}
	}
}

func benchBare(b *testing.B, c s3photos.Config, photo []byte) {
	client, err := minio.New(c.Endpoint, &minio.Options{
		Creds: credentials.NewStaticV4(c.Key, c.Secret, ""), Region: c.Region,
	})
	if err != nil {
		b.Fatal(err)
	}
	benchPut(b, photo, func(o events.Object, body *bytes.Reader) error {
		_, err := client.PutObject(b.Context(), c.Bucket, "bare/"+o.SHA256.String(), body, o.Bytes,
			minio.PutObjectOptions{ContentType: o.Media})
		return err
	})
}
