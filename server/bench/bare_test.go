//go:build bench

package bench

import (
	"bytes"
	"context"
	"crypto/sha256"
	"fmt"
	"testing"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"
	"github.com/minio/minio-go/v7"
	"github.com/minio/minio-go/v7/pkg/credentials"

	"relevel/events"
	"relevel/events/pgdb"
)

// bare is an append as one would write it by hand: lock the job, count it up,
// insert the event. It has no row security, no hashes, no fold and no HTTP.
type bare struct {
	pool *pgxpool.Pool
	raw  []byte
}

func newBare(t *testing.T, s *site, clients int) *bare {
	config, err := pgxpool.ParseConfig(fmt.Sprintf("%s&pool_max_conns=%d", s.db.DSN(pgdb.Owner), clients))
	must(t, err)
	pool, err := pgxpool.NewWithConfig(t.Context(), config)
	must(t, err)
	t.Cleanup(pool.Close)
	_, err = pool.Exec(t.Context(), `
		DROP TABLE IF EXISTS bare_job, bare_event;
		CREATE TABLE bare_job (id int PRIMARY KEY, seq bigint NOT NULL);
		CREATE TABLE bare_event (job int, seq bigint, body bytea NOT NULL, PRIMARY KEY (job, seq));
		INSERT INTO bare_job SELECT n, 0 FROM generate_series(0, 31) n`)
	must(t, err)
	j := &job{id: newID(), device: newID(), setup: newID()}
	return &bare{pool, s.reading(j, "B1-1")}
}

func (b *bare) append(job int) error {
	ctx := context.Background()
	return pgx.BeginFunc(ctx, b.pool, func(tx pgx.Tx) error {
		var seq int64
		if err := tx.QueryRow(ctx, `SELECT seq FROM bare_job WHERE id = $1 FOR UPDATE`, job).Scan(&seq); err != nil {
			return err
		}
		if _, err := tx.Exec(ctx, `UPDATE bare_job SET seq = $2 WHERE id = $1`, job, seq+1); err != nil {
			return err
		}
		_, err := tx.Exec(ctx, `INSERT INTO bare_event (job, seq, body) VALUES ($1, $2, $3)`, job, seq+1, b.raw)
		return err
	})
}

// bareBucket puts a photo by the client library alone.
type bareBucket struct {
	client *minio.Client
	name   string
}

func newBareBucket(t *testing.T, s *site) bareBucket {
	client, err := minio.New(s.bucket.Endpoint, &minio.Options{
		Creds: credentials.NewStaticV4(s.bucket.Key, s.bucket.Secret, ""), Region: s.bucket.Region,
	})
	must(t, err)
	return bareBucket{client, s.bucket.Bucket}
}

func (b bareBucket) put(photo []byte) error {
	sum := sha256.Sum256(photo)
	_, err := b.client.PutObject(context.Background(), b.name, fmt.Sprintf("bare/%x", sum), bytes.NewReader(photo),
		int64(len(photo)), minio.PutObjectOptions{ContentType: events.MediaJPEG})
	return err
}
