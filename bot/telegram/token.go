package telegram

import (
	"fmt"
	"net"
	"net/url"
	"regexp"
)

// TokenError is a token that cannot be one. It does not hold the token.
type TokenError struct{ Reason string }

// Error says what is wrong and what a token looks like.
func (e TokenError) Error() string {
	return "telegram token: " + e.Reason +
		"; a token looks like 123456789:AAbb-cc_dd and stands in LOTBELL_TELEGRAM_TOKEN"
}

// tokenForm is the form that the open server takes (ClientManager.cpp): a number, a colon, no
// slash, 80 characters at most.
const tokenForm = `^[1-9][0-9]{0,17}:[A-Za-z0-9_-]{1,61}$`

// checkToken tells a slip of the pen from a token, before any request. Only the far side knows
// whether a token is taken.
func checkToken(token string) error {
	if token == "" {
		return TokenError{"there is none"}
	}
	if ok, err := regexp.MatchString(tokenForm, token); err != nil || !ok {
		return TokenError{fmt.Sprintf("these %d characters are not one", len(token))}
	}
	return nil
}

// checkURL takes https, and http to this machine only, for the token is part of every address.
func checkURL(raw string) error {
	u, err := url.Parse(raw)
	if err != nil || u.Host == "" || u.User != nil || u.RawQuery != "" {
		return fmt.Errorf("telegram: %q is no server address; %s is one", raw, Home)
	}
	ip := net.ParseIP(u.Hostname())
	local := u.Hostname() == "localhost" || ip != nil && ip.IsLoopback()
	if u.Scheme == "https" || u.Scheme == "http" && local {
		return nil
	}
	return fmt.Errorf("telegram: %q would carry the token unprotected; use https, as in %s",
		raw, Home)
}
