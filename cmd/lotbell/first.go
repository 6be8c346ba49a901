package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
)

// firstCode is how the first keeper's code is shown: on the terminal that serve runs on. Without one
// what is printed goes into a log that others may read; then the code stands in a file beside the
// journal that only its owner can read, for as long as the code is good.
type firstCode struct {
	onTerminal bool
	shown      string // what stands there; "": nothing
}

// terminal says whether what is written goes to a terminal.
func terminal(w io.Writer) bool {
	f, ok := w.(*os.File)
	if !ok {
		return false
	}
	is, err := f.Stat()
	nowhere, _ := os.Stat(os.DevNull) // a device too
	return err == nil && is.Mode()&os.ModeCharDevice != 0 && !os.SameFile(is, nowhere)
}

// showCode shows the code as long as nobody of the mill can be reached, and its link once the bot's
// name is known.
func (s *server) showCode() error {
	code, err := s.desk.FirstCode(s.at())
	if err != nil {
		return err
	}
	text := ""
	if code != "" {
		text = "Nobody is enrolled yet. Write to the bot:  join " + code + "\n"
	}
	if link := s.deepLink(code); link != "" && code != "" {
		text += "Or open:  " + link + "\n"
	}
	file, before := s.file+".code", s.first.shown
	if text == before && before != "" {
		return nil
	}
	s.first.shown = text
	if err := os.Remove(file); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	switch {
	case text == "":
		return nil
	case s.first.onTerminal:
		_, err = fmt.Fprint(s.out, text)
		return err
	case before == "":
		s.log.Info("nobody is enrolled yet: the first keeper's code is in a file", "file", file)
	}
	return os.WriteFile(file, []byte(text), 0o600)
}
