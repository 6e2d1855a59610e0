package lang

// spanishNames are the names of threats, crops and stages of the built-in
// catalogue.
var spanishNames = map[string]string{
	// threats
	"allium leafminer": "minador de las aliáceas", "apple maggot": "mosca de la manzana", "apple scab": "sarna del manzano", "asparagus beetle": "escarabajo del espárrago",
	"downy mildew of basil": "mildiu de la albahaca", "bean leaf beetle": "escarabajo de la hoja del frijol", "bean rust": "roya del frijol", "white mould of beans": "moho blanco del frijol",
	"beet armyworm": "gardama (gusano soldado de la remolacha)", "Cercospora leaf spot of beet": "cercosporiosis de la remolacha", "black cutworm": "gusano cortador negro",
	"Alternaria leaf spot of brassicas": "alternariosis de las coles", "downy mildew of brassicas": "mildiu de las coles", "brown marmorated stink bug": "chinche marrón marmoleada",
	"cabbage aphid": "pulgón de la col", "cabbage looper": "gusano medidor de la col", "cabbage maggot": "mosca de la col", "Alternaria leaf blight of carrot": "alternariosis de la zanahoria",
	"Cercospora leaf blight of carrot": "cercosporiosis de la zanahoria", "carrot rust fly": "mosca de la zanahoria", "carrot weevil": "gorgojo de la zanahoria",
	"Septoria blight of celery (late blight)": "septoriosis del apio", "codling moth": "carpocapsa (gusano de la manzana)", "Colorado potato beetle": "escarabajo de la patata",
	"corn earworm (tomato fruitworm)": "gusano de la mazorca (gusano del fruto del tomate)", "corn flea beetle": "pulguilla del maíz", "corn rootworm beetles": "escarabajos del gusano de la raíz del maíz",
	"flea beetles on brassicas": "pulguillas en coles", "downy mildew of cucurbits": "mildiu de las cucurbitáceas", "powdery mildew of cucurbits": "oídio de las cucurbitáceas",
	"diamondback moth": "palomilla dorso de diamante (polilla de la col)", "European corn borer": "taladro europeo del maíz", "fall armyworm": "gusano cogollero", "fire blight": "fuego bacteriano",
	"black rot of grape": "podredumbre negra de la vid", "downy mildew of grape": "mildiu de la vid", "powdery mildew of grape": "oídio de la vid", "green peach aphid": "pulgón verde del melocotonero",
	"imported cabbageworm": "mariposa pequeña de la col (oruga)", "Japanese beetle": "escarabajo japonés", "late blight": "tizón tardío", "leek moth": "polilla del puerro",
	"aphids on lettuce": "pulgones en lechuga", "downy mildew of lettuce": "mildiu de la lechuga", "lettuce drop": "podredumbre blanda de la lechuga (Sclerotinia)", "melon aphid": "pulgón del melón",
	"Alternaria leaf blight and anthracnose of melons": "alternariosis y antracnosis del melón", "Mexican bean beetle": "escarabajo mexicano del frijol", "Botrytis leaf blight of onion": "quemazón de la hoja de la cebolla (Botrytis)",
	"downy mildew of onion": "mildiu de la cebolla", "onion maggot": "mosca de la cebolla", "onion thrips": "trips de la cebolla", "oriental fruit moth": "polilla oriental de la fruta", "pea aphid": "pulgón del guisante",
	"brown rot of peach": "podredumbre parda del melocotón", "peachtree borer": "barrenador del melocotonero", "pepper maggot": "mosca del pimiento", "pepper weevil": "picudo del chile", "plum curculio": "gorgojo de la ciruela",
	"early blight of potato": "tizón temprano de la patata", "flea beetles on nightshades": "pulguillas en solanáceas", "potato leafhopper": "saltahojas de la patata", "seedcorn maggot": "mosca de la semilla",
	"Septoria leaf spot of tomato": "septoriosis del tomate", "spinach and beet leafminer": "minador de la espinaca y la acelga", "spotted wing drosophila": "mosca de alas manchadas", "squash bug": "chinche de la calabaza",
	"squash vine borer": "barrenador de la calabaza", "anthracnose of strawberry": "antracnosis de la fresa", "grey mould of strawberry": "moho gris de la fresa", "leather rot of strawberry": "podredumbre de cuero de la fresa",
	"striped and spotted cucumber beetle": "escarabajo rayado y moteado del pepino", "swede midge": "cecidómido de las coles", "anthracnose of tomato": "antracnosis del tomate",
	"bacterial spot of tomato and pepper": "mancha bacteriana del tomate y el pimiento", "early blight of tomato": "tizón temprano del tomate", "hornworms": "gusanos cornudos", "powdery mildew of tomato": "oídio del tomate",
	"two-spotted spider mite": "araña roja", "variegated cutworm": "gusano cortador variegado", "western bean cutworm": "gusano cortador occidental del frijol", "western flower thrips": "trips occidental de las flores", "whiteflies": "moscas blancas",

	// crops
	"Brussels sprouts": "coles de Bruselas", "Chinese cabbage": "col china", "apple": "manzano", "arugula": "rúcula", "asparagus": "espárrago", "basil": "albahaca", "beet": "remolacha", "blueberry": "arándano",
	"bok choy": "pak choi", "broccoli": "brócoli", "cabbage": "repollo", "carrot": "zanahoria", "cauliflower": "coliflor", "celery": "apio", "chard": "acelga", "cilantro": "cilantro", "collards": "berza", "cucumber": "pepino",
	"dill": "eneldo", "dry bean": "frijol seco", "eggplant": "berenjena", "fava bean": "haba", "garlic": "ajo", "grape": "vid", "kale": "col rizada", "kohlrabi": "colinabo", "leek": "puerro", "lettuce": "lechuga", "lima bean": "frijol de Lima",
	"melon": "melón", "mustard greens": "hojas de mostaza", "okra": "okra", "onion": "cebolla", "parsley": "perejil", "parsnip": "chirivía", "pea": "guisante", "peach": "melocotonero", "pear": "peral", "pepper": "pimiento", "plum": "ciruelo",
	"potato": "patata", "pumpkin": "calabaza", "radish": "rábano", "raspberry": "frambuesa", "rutabaga": "nabo sueco", "shallot": "chalota", "snap bean": "judía verde", "spinach": "espinaca", "strawberry": "fresa", "summer squash": "calabaza de verano",
	"sweet corn": "maíz dulce", "sweet potato": "batata", "tomatillo": "tomatillo", "tomato": "tomate", "turnip": "nabo", "watermelon": "sandía", "winter squash": "calabaza de invierno", "zucchini": "calabacín",

	// stages and what a model counts from
	"a quarter of the moth flight": "un cuarto del vuelo de las polillas", "cutting begins": "empiezan a cortar plantas", "egg laying effectively over": "puesta de huevos prácticamente terminada",
	"end of the summer treatment period": "fin del periodo de tratamiento de verano", "first beetles": "primeros escarabajos",
	"first butterflies, early end of the published range": "primeras mariposas, extremo temprano del intervalo publicado", "first butterflies, late end of the published range": "primeras mariposas, extremo tardío del intervalo publicado",
	"first eggs": "primeros huevos", "first eggs of the second generation": "primeros huevos de la segunda generación", "first flies of the overwintered generation out of the soil": "primeras moscas de la generación invernante fuera del suelo",
	"first flies of the summer generation out of the soil": "primeras moscas de la generación de verano fuera del suelo", "first hatch": "primera eclosión", "first hatch of the second generation": "primera eclosión de la segunda generación",
	"first moths": "primeras polillas", "first spray or its alternative is due": "toca el primer tratamiento o su alternativa", "first spring moths": "primeras polillas de primavera", "first summer moths": "primeras polillas de verano",
	"five-day schedule": "calendario de cinco días", "half of the spring flies out": "la mitad de las moscas de primavera fuera", "hatch": "eclosión", "high class of the index": "clase alta del índice", "large caterpillars": "orugas grandes",
	"late blight warning": "aviso de tizón tardío", "leaf feeding begins": "empiezan a comer hojas", "middle class of the index": "clase media del índice", "moths come out of the soil": "las polillas salen del suelo",
	"moths of the next generation": "polillas de la siguiente generación", "next spray or its alternative is due": "toca el siguiente tratamiento o su alternativa",
	"next spray or its alternative is due, moderately resistant cultivar":   "toca el siguiente tratamiento o su alternativa, variedad medianamente resistente",
	"next spray or its alternative is due, moderately susceptible cultivar": "toca el siguiente tratamiento o su alternativa, variedad medianamente sensible",
	"next spray or its alternative is due, resistant cultivar":              "toca el siguiente tratamiento o su alternativa, variedad resistente",
	"next spray or its alternative is due, susceptible cultivar":            "toca el siguiente tratamiento o su alternativa, variedad sensible",
	"peak of flies of the overwintering generation":                         "máximo de moscas de la generación invernante", "peak of flies of the second generation": "máximo de moscas de la segunda generación",
	"peak of flies of the third generation": "máximo de moscas de la tercera generación", "peak of spring moths": "máximo de polillas de primavera", "peak of summer moths": "máximo de polillas de verano", "pupae": "pupas",
	"seven-day schedule": "calendario de siete días", "stage 5 begins": "empieza la etapa 5", "stage 6 begins": "empieza la etapa 6",
	"ten favourable days: blight is expected in 7-14 days": "diez días favorables: se espera el tizón en 7 a 14 días", "the first rise of airborne spores comes after this": "después de esto viene la primera subida de esporas en el aire",
	"95 % petal fall of McIntosh or a like apple":                                      "caída del 95 % de los pétalos de McIntosh o de una manzana parecida",
	"an intensive capture: 9 moths or more in one or two nights in a wing sticky trap": "una captura intensa: 9 polillas o más en una o dos noches en una trampa adhesiva",
	"emergence of potatoes (or planting out of tomatoes)":                              "nacencia de las patatas (o trasplante de los tomates)", "emergence of the potatoes": "nacencia de las patatas", "first open blossom": "primera flor abierta",
	"the first eggs on silk or by tomato flowers": "los primeros huevos en las sedas o junto a flores de tomate", "the first flies of the overwintered generation": "las primeras moscas de la generación invernante", "the first moth in a pheromone trap": "la primera polilla en una trampa de feromona",

	// stages of a find
	"egg": "huevo", "eggs": "huevos", "larva": "larva", "larvae": "larvas", "adult": "adulto", "adults": "adultos", "nymph": "ninfa", "nymphs": "ninfas", "symptoms": "síntomas", "damage": "daño",
}
