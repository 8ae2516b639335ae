package events

import (
	"bytes"
	"cmp"
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"io"
	"sync"
	"time"

	"relevel/levelling"
)

// ErrDamaged means that what was read back is not what was stored, or is gone.
// The file's state has fallen back to received, and sending it again mends it.
var ErrDamaged = errors.New("stored file damaged")

// Photos is the one way in and out for photos and sound notes. It checks size,
// digest and type before anything is stored, and keeps the ledger true: a file
// is called stored only after the store answered with its digest or was asked again, and durable only after
// its bytes were read back and hashed, or when the store syncs to disk.
type Photos struct {
	Objects Objects
	Ledger  Ledger
	Spool   string // folder for uploads on their way in; "" is the system's own

	room spoolRoom // for those that wait in memory
}

// Upload is one file as it arrives.
type Upload struct {
	Firm   ID
	SHA256 Digest // as the sender names it
	Bytes  int64  // as the sender states it, or -1 if it does not
	Media  string // as the sender states it
	At     time.Time
	Body   io.Reader // the caller closes it
}

// Put takes one file in and answers how safely it is kept. It may be repeated:
// a file that is kept already is checked against its digest and not stored
// again.
//
// A wrong size, digest or type is a levelling.InputError, too many bytes are
// ErrTooLarge; nothing is kept then. If the store is away the answer is
// ErrUnavailable and the sender keeps the file.
func (p *Photos) Put(ctx context.Context, u Upload) (Kept, error) {
	k, err := u.entry()
	if err != nil {
		return Kept{}, err
	}
	spool, err := p.newSpool(u.Bytes)
	if err != nil {
		return Kept{}, err
	}
	defer spool.Close()
	lookedUp := p.lookUp(ctx, k.key()) // while it arrives
	k.Bytes, err = u.receive(spool, maxBytes(k.Type))
	known, missing := lookedUp()
	if err != nil {
		return Kept{}, err
	}
	if missing != nil && !errors.Is(missing, ErrNotFound) {
		return Kept{}, fmt.Errorf("look up file: %w", missing)
	}
	body := prove(spool, k)
	defer body.Wait() // it reads the spool
	if missing == nil && known.State.Safe() {
		return known, body.Wait()
	}
	if err := sniff(spool, k); err != nil {
		return Kept{}, cmp.Or(body.Wait(), err) // that they are other bytes says more
	}
	return p.keep(ctx, k, body)
}

// lookUp asks the ledger for a file; the function that it returns waits for the answer.
func (p *Photos) lookUp(ctx context.Context, key Key) func() (Kept, error) {
	var known Kept
	var err error
	var asking sync.WaitGroup
	asking.Go(func() { known, err = p.Ledger.Find(ctx, key.Firm, key.SHA256) })
	return func() (Kept, error) {
		asking.Wait()
		return known, err
	}
}

// keep stores a file. That it was received is recorded while it is on its
// way to the store: it promises nothing, and a crash leaves that, or an object that
// nobody asks for.
func (p *Photos) keep(ctx context.Context, k Kept, body *proven) (Kept, error) {
	o := Object{Key: k.key(), Bytes: k.Bytes, SHA256: k.SHA256, Media: k.Media}
	storing, giveUp := context.WithCancel(ctx)
	defer giveUp()
	recorded := make(chan error, 1)
	go func() {
		err := body.Wait()
		if err == nil {
			err = p.Ledger.Record(ctx, k)
		}
		if err != nil {
			giveUp()
		}
		recorded <- err
	}()
	err := p.store(storing, o, body)
	broken := <-recorded // why the other was given up
	if wrong := body.Wait(); wrong != nil {
		return Kept{}, wrong
	}
	if broken != nil {
		return Kept{}, fmt.Errorf("record received file: %w", broken)
	}
	if err != nil {
		return Kept{}, err
	}
	k.State = FileStored
	if p.Objects.Durable() {
		k.State = FileDurable
	}
	if err := p.Ledger.Record(ctx, k); err != nil {
		return Kept{}, fmt.Errorf("record stored file: %w", err)
	}
	return k, nil
}

// store puts an object and asks the store what it holds now, unless it has told so
// already.
func (p *Photos) store(ctx context.Context, o Object, body io.ReaderAt) error {
	told, err := p.Objects.Put(ctx, o, body)
	if err != nil {
		return fmt.Errorf("store file: %w", err)
	}
	if told {
		return nil
	}
	size, err := p.Objects.Stat(ctx, o.Key)
	if err == nil && size == o.Bytes {
		return nil
	}
	switch {
	case err == nil:
		err = fmt.Errorf("it holds %d bytes of %d", size, o.Bytes)
	case errors.Is(err, ErrNotFound): // whoever sent it asked for nothing
		err = errors.New("it holds none")
	}
	// The store took the file and does not show it: whatever the reason, it
	// cannot be relied on now.
	return fmt.Errorf("%w: look at stored file: %w", ErrUnavailable, err)
}

// Open returns a file and what is known of it. Reading it to the end verifies
// it: the last Read gives ErrDamaged instead of io.EOF if the bytes are not
// those that were sent. The caller closes it.
func (p *Photos) Open(ctx context.Context, firm ID, file Digest) (Kept, io.ReadCloser, error) {
	k, err := p.Ledger.Find(ctx, firm, file)
	if err != nil {
		return Kept{}, nil, fmt.Errorf("look up file: %w", err)
	}
	if !k.State.Safe() {
		return k, nil, fmt.Errorf("file was not stored yet: %w", ErrNotFound)
	}
	body, _, err := p.Objects.Open(ctx, k.key())
	if err != nil {
		return k, nil, fmt.Errorf("open file: %w", err)
	}
	return k, &verifier{body: body, hash: sha256.New(), want: k.SHA256}, nil
}

// Verify reads a file back and hashes it. If it is what was sent it is durable
// from now on, also if a crash had kept the ledger from saying that it was
// stored. If not, its state falls back to received with the reason, and the
// error is ErrDamaged; nothing was promised of a file that is only received, so
// that one stays as it is, but for when it was looked at last. A store that is away
// changes nothing.
func (p *Photos) Verify(ctx context.Context, firm ID, file Digest, now time.Time) (Kept, error) {
	was, err := p.Ledger.Find(ctx, firm, file)
	if err != nil {
		return Kept{}, fmt.Errorf("look up file: %w", err)
	}
	return p.verify(ctx, was, now)
}

func (p *Photos) verify(ctx context.Context, was Kept, now time.Time) (Kept, error) {
	result := was
	result.State, result.Reason = FileDurable, ""
	result.At = now.UTC().Truncate(time.Millisecond)
	damage := p.readBack(ctx, was)
	switch {
	case errors.Is(damage, ErrDamaged) && !was.State.Safe():
		result.State, result.Reason, damage = was.State, was.Reason, nil
	case errors.Is(damage, ErrDamaged):
		result.State, result.Reason = FileReceived, damage.Error()
	case damage != nil:
		return was, damage
	}
	err := p.Ledger.Change(ctx, was, result)
	if errors.Is(err, ErrConflict) { // somebody else verified or mended it meanwhile
		return p.Ledger.Find(ctx, was.Firm, was.SHA256)
	}
	if err != nil {
		return was, fmt.Errorf("record verified file: %w", err)
	}
	return result, damage
}

func (p *Photos) readBack(ctx context.Context, k Kept) error {
	body, _, err := p.Objects.Open(ctx, k.key())
	if errors.Is(err, ErrNotFound) {
		return fmt.Errorf("%w: %s is missing from the store", ErrDamaged, k.SHA256)
	}
	if err != nil {
		return fmt.Errorf("read file back: %w", err)
	}
	v := &verifier{body: body, hash: sha256.New(), want: k.SHA256}
	_, err = io.Copy(io.Discard, v)
	if err = errors.Join(err, v.Close()); err != nil {
		return fmt.Errorf("read file back: %w", err)
	}
	return nil
}

// OpenDerived returns a photo at one of its smaller sizes, or ErrNotFound if
// nobody has made that size yet. The caller closes it.
func (p *Photos) OpenDerived(ctx context.Context, k Key) (io.ReadCloser, int64, error) {
	if k.Size == Original {
		return nil, 0, fmt.Errorf("open derived size of %s: %w", k.SHA256, ErrNotFound)
	}
	return p.Objects.Open(ctx, k)
}

// PutDerived keeps a smaller size of a photo, a JPEG made from it. It can be
// made again at any time, so the ledger does not know it.
func (p *Photos) PutDerived(ctx context.Context, k Key, jpeg []byte) error {
	if k.Size == Original || Sniff(jpeg) != MediaJPEG {
		return levelling.Bad("size", "a JPEG at 320 or 1600 pixels")
	}
	o := Object{Key: k, Bytes: int64(len(jpeg)), SHA256: sha256.Sum256(jpeg), Media: MediaJPEG}
	return p.store(ctx, o, bytes.NewReader(jpeg))
}

func (k Kept) key() Key { return Key{Firm: k.Firm, SHA256: k.SHA256} }
