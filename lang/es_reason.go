package lang

import "regexp"

// spanishReasons are the sentences of plan, by their English form.
var spanishReasons = map[string]string{
	// what was seen
	"You logged %s in this planting on %s.":      "Usted anotó en este cultivo, el %[2]s: %[1]s.",
	"You logged %s (%s) in this planting on %s.": "Usted anotó en este cultivo, el %[3]s: %[1]s (%[2]s).",
	"days since it was seen":                     "días desde que se vio",

	// blind
	"No measured weather has arrived yet, so nothing can be said.":                                    "Todavía no ha llegado ningún dato medido del tiempo, así que no se puede decir nada.",
	"Blind since %s: no weather has arrived for %s.":                                                  "A ciegas desde el %s: hace %s que no llega ningún dato del tiempo.",
	"age of the newest measured hour":                                                                 "antigüedad de la última hora medida",
	"This model could not run: %s.":                                                                   "Este modelo no se pudo calcular: %s.",
	"the weather it needs is missing":                                                                 "falta el tiempo que necesita",
	"%s hours of weather are missing: the total lies between %s and %s, and %s (%s) may have passed.": "Faltan %s horas de datos del tiempo: el total está entre %s y %s, y puede haber pasado ya: %s (%s).",
	"missing hours":          "horas que faltan",
	"highest possible total": "total más alto posible",

	// ahead
	"Counting starts with %s; log it when you see it. Until then this model says nothing.":                           "La cuenta empieza con esto: %s; anótelo cuando lo vea. Hasta entonces este modelo no dice nada.",
	"Every stage that this model times has passed this season. It says nothing of what stayed; keep looking weekly.": "Todas las etapas que este modelo calcula ya han pasado esta temporada. No dice nada de lo que quedó; siga mirando cada semana.",
	"Conditions have favoured %s since %s: the total passed %s. Look at the plants now.":                             "Desde el %[2]s las condiciones favorecen esto: %[1]s. El total pasó de %[3]s. Mire las plantas ahora.",
	"%s: %s.":                              "%s: %s.",
	"%s: %s. Prevention should start now.": "%s: %s. La prevención debería empezar ahora.",
	"So far %s of %s.":                     "Hasta ahora %s de %s.",
	"This is rough: few or no past years stand behind it.": "Es aproximado: hay pocos años pasados detrás, o ninguno.",
	"not expected within the days looked at":               "no se espera en los días que se miran",
	"1 in 10 that it comes by %s, more likely later":       "1 posibilidad en 10 de que venga hasta el %s, más probable después",
	"expected on %s": "se espera el %s",
	"most likely around %s, not before %s in 9 of 10":                                                       "lo más probable alrededor del %s, no antes del %s en 9 de 10",
	"most likely %s, 8 in 10 between %s and %s":                                                             "lo más probable el %s, 8 en 10 entre el %s y el %s",
	"No day that favours infection in the last week or the forecast.":                                       "Ningún día que favorezca la infección en la última semana ni en el pronóstico.",
	"The forecast has conditions that favour infection on %s. A protectant works only before it.":           "El pronóstico trae condiciones que favorecen la infección el %s. Un protector solo sirve antes.",
	"Conditions favoured infection on %s. Look for the first signs now.":                                    "Las condiciones favorecieron la infección el %s. Busque ahora las primeras señales.",
	"None in the forecast. In past years conditions that favour infection came by %s in half of the years.": "Ninguna en el pronóstico. En años pasados, las condiciones que favorecen la infección llegaron hasta el %s en la mitad de los años.",
	"published threshold: %s":                                       "umbral publicado: %s",
	"threshold tuned for this region: %s":                           "umbral ajustado para esta región: %s",
	"%s, tuned for this region":                                     "%s: valor ajustado para esta región",
	"%s, published":                                                 "%s: valor publicado",
	"the day from which it counts":                                  "el día desde el que cuenta",
	"the humidity from which an hour counts":                        "la humedad desde la que cuenta una hora",
	"%s is this region's number, tuned by %s on %s; published: %s.": "%s es el valor de esta región, ajustado por %s el %s; publicado: %s.",
	"day of the year":                                               "día del año",
	"Treating costs about %s; %s left alone takes about %s, of which a treatment in time saves about %s.": "Tratar cuesta alrededor de %s; si no se hace nada (%s), la pérdida es de alrededor de %s, y un tratamiento a tiempo salva alrededor de %s.",
	"Treating never saves what it costs.":                                                                   "Tratar nunca ahorra lo que cuesta.",
	"Treating pays from a chance of %s on; within %s it is %s, so it is worth acting now.":                  "Tratar compensa a partir de una posibilidad del %s; dentro de %s es del %s, así que vale la pena actuar ahora.",
	"Treating pays from a chance of %s on; within %s it is %s, so treating can wait.":                       "Tratar compensa a partir de una posibilidad del %s; dentro de %s es del %s, así que el tratamiento puede esperar.",
	"The figures are defaults, from memory: enter your own.":                                                "Las cifras son valores por defecto, de memoria: ponga las suyas.",
	"chance from which a treatment pays":                                                                    "posibilidad a partir de la cual compensa un tratamiento",
	"The forecast may bring conditions that favour infection within %s. A protectant works only before it.": "El pronóstico puede traer condiciones que favorecen la infección dentro de %s. Un protector solo sirve antes.",
	"under 1 %": "menos del 1 %", "over 99 %": "más del 99 %",
	"total to the end of %s": "total hasta el final del %s",
	"chance within 14 days":  "posibilidad en 14 días",

	// the log
	"Going by your log (%s of %s seasons), the first find is %s.":                                        "Según su registro (%s de %s temporadas), el primer hallazgo: %s.",
	"Your own log has no season yet. Going by what neighbours share (%s seasons), the first find is %s.": "Su registro todavía no tiene ninguna temporada. Según lo que comparten los vecinos (%s temporadas), el primer hallazgo: %s.",
	"In past seasons the first find came before %s. None is logged this season: keep looking.":           "En temporadas pasadas el primer hallazgo llegó antes del %s. Esta temporada no hay ninguno anotado: siga mirando.",
	"Look now.":                    "Mire ahora.",
	"Prevention should start now.": "La prevención debería empezar ahora.",
	"No trustworthy model is known; the log speaks alone.":           "No se conoce un modelo fiable; habla solo el registro.",
	"This is rough: few seasons stand behind it.":                    "Es aproximado: hay pocas temporadas detrás.",
	"seasons of the log that came within their 8-in-10 dates, of %s": "temporadas del registro que cayeron dentro de sus fechas de 8 en 10, de %s",
	"seasons": "temporadas",
	"%s: mean miss over %s seasons of the log":                "%s: error medio en %s temporadas del registro",
	"%s: mean miss over %s seasons of the log (the one used)": "%s: error medio en %s temporadas del registro (el que se usa)",
	"a find in your own log (no trustworthy model is known)":  "un hallazgo en su propio registro (no se conoce un modelo fiable)",
	"the first find": "el primer hallazgo",
	"calendar mean":  "media del calendario", "local threshold": "umbral local", "blend": "mezcla de ambos",
	"published threshold": "umbral publicado",

	// what is protected
	"Your treatment of %s (%s) is %s: %s and %s of rain since%s.": "Su tratamiento del %s (%s) está %s: desde entonces %s y %s de lluvia%s.",
	"fresh": "reciente", "thin": "débil", "due for renewal": "por renovar", "gone": "perdido",
	"For %s nothing is known of rain or wet leaves, so it is not counted on.":                        "De %s no se sabe nada de lluvia ni de hojas mojadas, así que no se cuenta con él.",
	"Renew before the next infection period.":                                                        "Renuévelo antes del próximo periodo de infección.",
	"; what a home mix leaves on the leaf is not known, so it is not counted on":                     "; no se sabe lo que una mezcla casera deja en la hoja, así que no se cuenta con ella",
	"; it works while it is wet, nothing stays once it has dried":                                    "; actúa mientras está mojado, no queda nada cuando se ha secado",
	"; nothing of it stays once it has dried":                                                        "; no queda nada cuando se ha secado",
	"; any wetting takes it off":                                                                     "; cualquier mojadura lo quita",
	"; light ends it in %s to %s days":                                                               "; la luz acaba con él en %s a %s días",
	"; it rained before it had dried":                                                                "; llovió antes de que se secara",
	"; it rained before it had dried (within %s h)":                                                  "; llovió antes de que se secara (en %s h)",
	"Leaves that have grown since then are bare: look at the tips, and in fast growth renew sooner.": "Las hojas que han crecido desde entonces están sin protección: mire las puntas y, si crece deprisa, renueve antes.",
	"The %s keeps it out while its edges are closed.":                                                "La cobertura (%s) lo mantiene fuera mientras los bordes estén cerrados.",
	"Open it at %s, so that bees reach them.":                                                        "Ábrala con %s, para que lleguen las abejas.",
	"the first female flowers (a small fruit sits behind them)":                                      "las primeras flores femeninas (tienen detrás un fruto pequeño)",
	"the first open flowers":                                                                         "las primeras flores abiertas",
	"row cover":                                                                                      "velo", "insect net": "malla contra insectos", "tunnel": "túnel",
	"days since": "días desde entonces", "rain since": "lluvia desde entonces",

	// units
	"degree-days F": "grados-día F", "degree-days C": "grados-día C", "degree-hours F": "grados-hora F", "degree-hours C": "grados-hora C",
	"days": "días", "hours": "horas", "index": "puntos del índice", "P-days": "días P", "severity values": "valores de severidad",
	"infection days": "días de infección", "sporulation nights": "noches de esporulación", "infection periods": "periodos de infección",
	"infection classes": "clases de infección", "favourable days": "días favorables", "days that complete a period": "días que completan un periodo", "call": "aviso",
	"estimated severity, share": "severidad estimada, parte", "blight units": "unidades de tizón",
	"disease severity values": "valores de severidad",
}

// basisForms are the shapes of what an outlook rests on; inner is the group that
// is such a text itself, from 1.
var basisForms = []struct {
	form  *regexp.Regexp
	es    string
	inner int
}{
	{regexp.MustCompile(`^(\d+) forecast days?$`), "%s días de pronóstico", 0},
	{regexp.MustCompile(`^(\d+) forecast days? in (\d+) versions$`), "%s días de pronóstico en %s versiones", 0},
	{regexp.MustCompile(`^no forecast$`), "sin pronóstico", 0},
	{regexp.MustCompile(`^(.*), then (\d+) past years? run forward$`), "%s, luego %s años pasados continuados", 1},
	{regexp.MustCompile(`^(.*), then (\d+) past years? run forward, spread wider because they are few$`), "%s, luego %s años pasados continuados, con más margen porque son pocos", 1},
	{regexp.MustCompile(`^(.*), then (\d+) past years?$`), "%s, luego %s años pasados", 1},
	{regexp.MustCompile(`^(.*) alone: there are no past years for this site$`), "solo %s: no hay años pasados para este terreno", 1},
	{regexp.MustCompile(`^(.*), then the pace of the last two weeks with a wide spread: there are no past years for this site$`), "%s, luego el ritmo de las dos últimas semanas con mucho margen: no hay años pasados para este terreno", 1},
	{regexp.MustCompile(`^the dates of (\d+) seasons? of the log alone$`), "solo las fechas de %s temporadas del registro", 0},
	{regexp.MustCompile(`^the dates of (\d+) seasons? of the log and of (\d+) seasons? that neighbours share$`), "las fechas de %s temporadas del registro y de %s que comparten los vecinos", 0},
}
