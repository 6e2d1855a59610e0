package lang

// spanishWeb are the fixed words of the web pages, by their English form.
var spanishWeb = map[string]string{}
