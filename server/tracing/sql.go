package tracing

import (
	"context"
	"regexp"
	"strings"
	"sync"

	"github.com/jackc/pgx/v5"
	"go.opentelemetry.io/otel/attribute"
	"go.opentelemetry.io/otel/codes"
	api "go.opentelemetry.io/otel/trace"
)

// Statements traces what is sent to the database, statement by statement. A statement
// outside of any span, such as a look at the queue, begins no trace of its own: those
// would be most of all that is sent.
type Statements struct{ *Tracing }

// Statements returns a pgx.QueryTracer and BatchTracer.
func (t *Tracing) Statements() Statements { return Statements{t} }

func (s Statements) start(ctx context.Context, name string) context.Context {
	if !api.SpanFromContext(ctx).SpanContext().IsValid() {
		return ctx
	}
	ctx, span := s.tracer.Start(ctx, name, api.WithSpanKind(api.SpanKindClient), api.WithAttributes(attribute.String("db.system.name", "postgresql")))
	return context.WithValue(ctx, statementKey{}, span)
}

type statementKey struct{}

func end(ctx context.Context, err error) {
	span, ok := ctx.Value(statementKey{}).(api.Span)
	if !ok {
		return
	}
	if err != nil {
		span.SetStatus(codes.Error, "")
	}
	span.End()
}

// TraceQueryStart implements pgx.QueryTracer.
func (s Statements) TraceQueryStart(ctx context.Context, _ *pgx.Conn, q pgx.TraceQueryStartData) context.Context {
	return s.start(ctx, s.names.of(q.SQL))
}

// TraceQueryEnd implements pgx.QueryTracer.
func (s Statements) TraceQueryEnd(ctx context.Context, _ *pgx.Conn, q pgx.TraceQueryEndData) {
	end(ctx, q.Err)
}

// TraceBatchStart implements pgx.BatchTracer. What a batch does is named by its
// statements, but for the one that says which firm it is for.
func (s Statements) TraceBatchStart(ctx context.Context, _ *pgx.Conn, b pgx.TraceBatchStartData) context.Context {
	var names []string
	for _, q := range b.Batch.QueuedQueries {
		if name := s.names.of(q.SQL); name != asFirm && (len(names) == 0 || names[len(names)-1] != name) {
			names = append(names, name)
		}
	}
	const most = 3
	if len(names) > most {
		names = append(names[:most], "…")
	}
	if len(names) == 0 {
		names = []string{"begin"}
	}
	return s.start(ctx, strings.Join(names, ", "))
}

// TraceBatchQuery implements pgx.BatchTracer.
func (s Statements) TraceBatchQuery(context.Context, *pgx.Conn, pgx.TraceBatchQueryData) {}

// TraceBatchEnd implements pgx.BatchTracer.
func (s Statements) TraceBatchEnd(ctx context.Context, _ *pgx.Conn, b pgx.TraceBatchEndData) {
	end(ctx, b.Err)
}

// statements remembers the names of statements. Those of this program are constants, so
// there are few.
type statements struct{ names sync.Map }

// asFirm is the name of the statement before all others.
const asFirm = "select set_config"

// What a statement does to which table: the first thing that it changes counts, or else
// the first that it reads. A row that is locked for a change is read.
var (
	locks   = regexp.MustCompile(`(?i)\bfor\s+(no\s+key\s+)?update\b`)
	changes = regexp.MustCompile(`(?i)\b(insert\s+into|update|delete\s+from)\s+([a-z_]+)`)
	reads   = regexp.MustCompile(`(?i)\bfrom\s+([a-z_]+)`)
)

// of is the verb and table of a statement.
func (s *statements) of(sql string) string {
	if name, known := s.names.Load(sql); known {
		return name.(string)
	}
	name := nameOf(sql)
	s.names.Store(sql, name)
	return name
}

func nameOf(sql string) string {
	if strings.HasPrefix(sql, "SELECT set_config(") {
		return asFirm
	}
	sql = strings.ToLower(locks.ReplaceAllString(sql, ""))
	if at := changes.FindStringSubmatch(sql); at != nil {
		return strings.Fields(at[1])[0] + " " + at[2]
	}
	if at := reads.FindStringSubmatch(sql); at != nil {
		return "select " + at[1]
	}
	if words := strings.Fields(strings.Trim(sql, "; ")); len(words) > 0 {
		return words[0]
	}
	return "nothing"
}
