package lang

// spanishAlerts are fixed words of push notes, of what is told to an operator and
// of newsletters, and what say.Meaning says.
var spanishAlerts = map[string]string{
	"Found in this bed. Keep it from spreading.":                                "Encontrado en este bancal. Evite que se extienda.",
	"The time for prevention is now.":                                           "Ahora es el momento de prevenir.",
	"Expected within four weeks. Get ready.":                                    "Se espera en cuatro semanas. Prepárese.",
	"Weather is missing or too old. Nothing can be said, so look for yourself.": "Faltan datos del tiempo o son demasiado viejos. No se puede decir nada, así que mire usted.",
	"Covered, or treated and not washed off.":                                   "Cubierto, o tratado y no lavado.",
	"Nothing expected within four weeks. Keep looking once a week.":             "No se espera nada en cuatro semanas. Siga mirando una vez por semana.",
}
