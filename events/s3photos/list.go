package s3photos

import (
	"context"
	"iter"

	"github.com/minio/minio-go/v7"

	"relevel/events"
)

// List implements events.Lister, by LIST in pages of up to a thousand.
func (s *Store) List(ctx context.Context) iter.Seq2[events.Listed, error] {
	return func(yield func(events.Listed, error) bool) {
		ctx, cancel := context.WithCancel(ctx) // ends the pages that nobody waits for
		defer cancel()
		for o := range s.client.Client.ListObjectsIter(ctx, s.bucket, minio.ListObjectsOptions{Recursive: true}) {
			if o.Err != nil {
				if minio.ToErrorResponse(o.Err).Code != minio.NoSuchBucket {
					yield(events.Listed{}, translate(ctx, "list objects", o.Err))
				}
				return
			}
			key, _ := events.ParseKey(o.Key)
			if !yield(events.Listed{Name: o.Key, Key: key, Bytes: o.Size, At: o.LastModified}, nil) {
				return
			}
		}
	}
}
