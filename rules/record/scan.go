package record

import (
	"bufio"
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"
)

// scan reads a file row by row. It stops at the first fault: what follows a wrong row is often
// wrong for the same reason, and a list of a hundred helps nobody.
type scan struct {
	file  string
	kind  Kind
	until time.Time

	csv     *csv.Reader
	columns []*column // by place in the header; nil: not known
	unread  []string
	line    int
	last    Row       // the row before; zero At: none
	moist   Row       // the last row with a moisture
	rained  bool      // since then
	later   time.Time // the first row after until; zero: none was met
}

// fault is a fault in the line in hand.
func (s *scan) fault(kind FaultKind, column, word, why, example string) error {
	return &Fault{File: s.file, Line: s.line, Column: column, Word: word, Kind: kind, Why: why,
		Example: example}
}

// open reads up to the header. Spreadsheets write a byte order mark, which means nothing here; two
// other marks mean text that is no UTF-8.
func (s *scan) open(from io.Reader) error {
	text := bufio.NewReader(&bounded{from: from, left: MaxBytes + 1})
	switch head, _ := text.Peek(3); {
	case bytes.Equal(head, []byte("\xef\xbb\xbf")):
		text.Discard(3)
	case bytes.HasPrefix(head, []byte("\xff\xfe")), bytes.HasPrefix(head, []byte("\xfe\xff")):
		s.line = 1
		return s.fault(NotText, "", "", "not UTF-8 but UTF-16", "save it as CSV UTF-8")
	}
	s.csv = csv.NewReader(text)
	s.csv.FieldsPerRecord, s.csv.ReuseRecord = -1, true
	s.csv.TrimLeadingSpace, s.csv.Comment = true, '#'
	fields, err := s.fields()
	if errors.Is(err, io.EOF) {
		return &Fault{File: s.file, Kind: Empty, Why: "nothing in it", Example: Example(s.kind)}
	}
	if err != nil {
		return err
	}
	return s.header(fields)
}

// fields is the next line that is no remark and not blank, its fields trimmed. A row of nothing
// but commas counts as blank and a quoted remark as a remark: spreadsheets make both. The slice is
// used again for the next line.
func (s *scan) fields() ([]string, error) {
	for {
		fields, err := s.csv.Read()
		var broken *csv.ParseError
		switch {
		case errors.As(err, &broken) && broken.Err != csv.ErrFieldCount:
			s.line = broken.Line
			return nil, s.fault(Quotes, "", "", "quotation marks that do not pair",
				`leave them out, or write "" for one inside a quoted field`)
		case errors.Is(err, errTooBig):
			s.line++
			return nil, s.fault(TooBig, "", "", "more than 4 MB; a record is of one load",
				"cut it where the next load begins")
		case err != nil:
			return nil, err
		}
		s.line, _ = s.csv.FieldPos(0)
		written := false
		for i := range fields {
			fields[i] = strings.TrimSpace(fields[i])
			written = written || fields[i] != ""
			if !utf8.ValidString(fields[i]) || strings.ContainsRune(fields[i], 0) {
				return nil, s.fault(NotText, "", "", "not UTF-8 text", "save it as CSV UTF-8")
			}
		}
		if written && !strings.HasPrefix(fields[0], "#") {
			return fields, nil
		}
	}
}

// header finds the columns. A file with semicolons is refused and not guessed at: those who write
// it write decimal commas too, and half of such a file would be read wrong.
func (s *scan) header(fields []string) error {
	all := strings.Join(fields, ",")
	for _, sep := range [][2]string{{";", "semicolons"}, {"\t", "tabs"}} {
		if strings.Count(all, sep[0]) >= 2 {
			return s.fault(Separator, "", "", "the columns are parted by "+sep[1]+", not by commas",
				"save it with commas between columns and points in numbers, as in\n"+Example(s.kind))
		}
	}
	known := columnsOf(s.kind)
	s.columns = make([]*column, len(fields))
	for i, name := range fields {
		for k := range known {
			if strings.EqualFold(known[k].name, name) {
				s.columns[i] = &known[k]
			}
		}
		if s.columns[i] == nil && name != "" {
			s.unread = append(s.unread, name)
		}
		for _, c := range s.columns[:i] {
			if c != nil && c == s.columns[i] {
				return s.fault(TwiceColumn, c.name, "", "stands twice in the header", "leave one out")
			}
		}
	}
	var lacks []string
	for k := range known {
		if known[k].needed && s.place(known[k].name) < 0 {
			lacks = append(lacks, known[k].name)
		}
	}
	if len(lacks) > 0 {
		return s.fault(MissingColumn, "", strings.Join(lacks, ","),
			"missing; the first line names the columns, in any order", Example(s.kind))
	}
	return nil
}

// place is where a column stands; -1: nowhere.
func (s *scan) place(name string) int {
	for i, c := range s.columns {
		if c != nil && c.name == name {
			return i
		}
	}
	return -1
}

// next reads the next row; more is false at the end of the file or of what may be looked at. The
// time is read before anything else, since a later row must not be looked at even to refuse it.
func (s *scan) next() (row Row, more bool, err error) {
	fields, err := s.fields()
	if errors.Is(err, io.EOF) {
		return Row{}, false, nil
	}
	if err != nil {
		return Row{}, false, err
	}
	row = blank()
	row.Line = s.line
	if at := s.place("time"); at < len(fields) {
		if row.At, err = s.time(fields[at]); err != nil {
			return Row{}, false, err
		}
		if !s.until.IsZero() && row.At.After(s.until) {
			s.later = row.At
			return Row{}, false, nil
		}
	}
	if err = s.count(fields); err == nil {
		err = s.take(&row, fields)
	}
	if err == nil {
		err = s.check(&row)
	}
	s.last = row
	return row, err == nil, err
}

// count refuses a row with more or fewer fields than the header.
func (s *scan) count(fields []string) error {
	n, want := len(fields), len(s.columns)
	switch {
	case n > want:
		return s.fault(FieldCount, "", "", fmt.Sprintf("%d fields where the header has %d", n, want),
			"a decimal comma makes two fields of one: write 12.5 for 12,5")
	case n < want:
		return s.fault(FieldCount, "", "", fmt.Sprintf("%d fields where the header has %d", n, want),
			"write every comma, with nothing between them where nothing was read")
	}
	return nil
}

// take puts the texts of a row where they belong; an empty one leaves the row as [blank] has it.
func (s *scan) take(row *Row, fields []string) error {
	for i, c := range s.columns {
		if c == nil || fields[i] == "" {
			continue
		}
		text, ok := strings.ToLower(fields[i]), true
		switch {
		case c.number != nil:
			x, err := s.number(c, text)
			if err != nil {
				return err
			}
			*c.number(row) = x
		case c.mark != nil:
			*c.mark(row), ok = marked(text)
		case c.word != nil:
			ok = c.word(row, text)
		}
		if !ok {
			return s.fault(BadWord, c.name, fields[i], "not known", "write "+c.words())
		}
	}
	row.RH /= 100
	return nil
}

// number reads a figure with a decimal point, within the limits of its column. Exponents, signs of
// infinity and hexadecimal are no way to write a reading down.
func (s *scan) number(c *column, text string) (float64, error) {
	if before, after, comma := strings.Cut(text, ","); comma {
		mended := "write " + before + "." + after
		if len(after) == 3 {
			mended += ", or " + before + after + " where thousands are meant"
		}
		return 0, s.fault(DecimalComma, c.name, text, "a decimal comma", mended)
	}
	x, err := strconv.ParseFloat(text, 64)
	if err != nil || strings.Trim(text, "+-.0123456789") != "" {
		return 0, s.fault(NotANumber, c.name, text, "not a number",
			"write the figure alone, as in "+c.example)
	}
	if x < c.low || x > c.high {
		return 0, s.fault(OutOfRange, c.name, text,
			fmt.Sprintf("must be %g to %g", c.low, c.high), "as in "+c.example)
	}
	return x, nil
}

// time reads an instant. A day that is not in the calendar is told from another form.
func (s *scan) time(text string) (time.Time, error) {
	at, err := time.Parse(Layout, text)
	var slip *time.ParseError
	switch {
	case errors.As(err, &slip) && strings.Contains(slip.Message, "out of range"):
		return at, s.fault(BadTime, "time", text, "there is no such day or hour",
			"as in 2026-01-12 18:00")
	case err != nil:
		return at, s.fault(BadTime, "time", text, "not written YYYY-MM-DD HH:MM",
			"as in 2026-01-12 18:00")
	case at.Year() < 1970 || at.Year() > 2100:
		return at, s.fault(BadTime, "time", text, "no year of a record", "as in 2026-01-12 18:00")
	}
	return at, nil
}

// check holds a row against those before it: order, gap, the first load of a tank, and a moisture
// that rises as no lot does. Rain lets a lot on a patio rise.
func (s *scan) check(row *Row) error {
	word := row.At.Format(Layout)
	if !s.last.At.IsZero() {
		before := fmt.Sprintf("line %d, %s", s.last.Line, s.last.At.Format(Layout))
		switch gap := row.At.Sub(s.last.At); {
		case gap == 0:
			return s.fault(SameInstant, "time", word, "the instant of "+before,
				"put both readings in one row, or a minute between them")
		case gap < 0:
			return s.fault(OutOfOrder, "time", word, "earlier than "+before, "put the rows in order")
		case gap > MaxGap:
			return s.fault(LongGap, "time", word, "more than a month after "+before,
				"mend the date, or put the next load in a file of its own")
		}
	} else if s.kind == Tank && !(row.Added > 0) {
		return s.fault(NoLoad, "add_kg", "", "the first row must say what went in", "as in 1200")
	}
	s.rained = s.rained || row.Rain > 0
	if math.IsNaN(row.Moisture) {
		return nil
	}
	if was := s.moist; !was.At.IsZero() && row.Moisture-was.Moisture >= Rise && !s.rained {
		return s.fault(Rises, "moisture_pct", strconv.FormatFloat(row.Moisture, 'g', -1, 64),
			fmt.Sprintf("%.1f points wetter than line %d, which no lot becomes",
				row.Moisture-was.Moisture, was.Line),
			"leave the field empty, or put another lot in a file of its own")
	}
	s.moist, s.rained = *row, false
	return nil
}

// bounded is a reader that fails after so many bytes.
type bounded struct {
	from io.Reader
	left int
}

var errTooBig = errors.New("too big")

// Read reads what is still allowed.
func (b *bounded) Read(p []byte) (int, error) {
	if b.left <= 0 {
		return 0, errTooBig
	}
	n, err := b.from.Read(p[:min(len(p), b.left)])
	b.left -= n
	return n, err
}
