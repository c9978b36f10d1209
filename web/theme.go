package web

import (
	"net/http"
	"net/url"
	"slices"
	"strings"

	"github.com/gin-gonic/gin"
)

// themeCookie keeps the choice of paper. It says nothing about the person.
const themeCookie = "paper"

// ThemeOf reads the reader's choice; an unknown one follows the device.
func ThemeOf(c *gin.Context) Theme {
	value, err := c.Cookie(themeCookie)
	if err != nil || !slices.Contains(Themes(), Theme(value)) {
		return Device
	}
	return Theme(value)
}

// SetTheme keeps the choice of the theme form for a year and goes back to the
// page it was made on. Register it for POST /theme.
func SetTheme(c *gin.Context) {
	chosen := Theme(c.PostForm("theme"))
	cookie := &http.Cookie{
		Name: themeCookie, Value: string(chosen), Path: "/", MaxAge: 365 * 24 * 60 * 60,
		HttpOnly: true, SameSite: http.SameSiteLaxMode, Secure: c.Request.TLS != nil,
	}
	if chosen == Device || !slices.Contains(Themes(), chosen) {
		cookie.Value, cookie.MaxAge = "", -1
	}
	http.SetCookie(c.Writer, cookie)
	Go(c, OwnPath(c.PostForm("back")))
}

// OwnPath returns path when it leads to this program, else "/". Forms bring
// such paths along, and a stranger may have written them.
func OwnPath(path string) string {
	u, err := url.Parse(path)
	if err != nil || u.IsAbs() || u.Host != "" || !strings.HasPrefix(path, "/") || strings.HasPrefix(path, "//") || strings.ContainsAny(path, "\\\r\n\t") {
		return "/"
	}
	return path
}

// Headers sets the headers that every page answers with.
func Headers(c *gin.Context) {
	h := c.Writer.Header()
	h.Set("Content-Security-Policy", ContentPolicy)
	h.Set("X-Content-Type-Options", "nosniff")
	h.Set("Referrer-Policy", "same-origin")
	h.Set("Cross-Origin-Opener-Policy", "same-origin")
}
