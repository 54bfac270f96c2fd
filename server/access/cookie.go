package access

import (
	"strings"
	"time"
)

// Names of the session cookie. The prefix makes the browser insist on Secure, Path=/ and no Domain (RFC 6265bis
// 4.1.3.2); without TLS, which is for localhost only, it could not be set.
const (
	secureCookie = "__Host-evenpeel"
	plainCookie  = "evenpeel_session"
)

func cookieName(secure bool) string {
	if secure {
		return secureCookie
	}
	return plainCookie
}

// Cookie is the value of a Set-Cookie header that hands the browser its session.
func Cookie(token string, ends time.Time, secure bool) string {
	c := cookieName(secure) + "=" + token + "; Path=/; Expires=" + ends.UTC().Format("Mon, 02 Jan 2006 15:04:05 GMT") +
		"; HttpOnly; SameSite=Strict"
	if secure {
		c += "; Secure"
	}
	return c
}

// NoCookie is the value of a Set-Cookie header that takes the session away again.
func NoCookie(secure bool) string { return Cookie("", time.Unix(1, 0), secure) }

// TokenFromCookies finds the session's token in the values of Cookie headers; "" where there is none, and where
// there are two different ones: nobody should choose for the person.
func TokenFromCookies(headers []string, secure bool) string {
	token := ""
	for _, header := range headers {
		for pair := range strings.SplitSeq(header, ";") {
			name, value, ok := strings.Cut(strings.TrimSpace(pair), "=")
			if !ok || name != cookieName(secure) {
				continue
			}
			if token != "" && token != value {
				return ""
			}
			token = value
		}
	}
	return token
}

// TokenFromBearer finds the token in the values of Authorization headers; "" where there is not exactly one.
func TokenFromBearer(headers []string) string {
	if len(headers) != 1 {
		return ""
	}
	scheme, token, ok := strings.Cut(headers[0], " ")
	if !ok || !strings.EqualFold(scheme, "bearer") {
		return ""
	}
	return strings.TrimSpace(token)
}
