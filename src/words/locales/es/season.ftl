# Antes de la temporada: ofertas, motivos, calentamiento.

season-measure-wrap = una envoltura aislante
season-measure-thick_wrap = una envoltura aislante gruesa
season-measure-heat_trace = cable calefactor bajo una envoltura
season-measure-cover = una cubierta
season-measure-heated_enclosure = un gabinete con calefacción
season-measure-relocation = trasladarlo a un edificio
season-measure-drain_kit = un juego de drenaje y un recordatorio para vaciarlo cada otoño
season-measure-freeze_drip_valve = una válvula de goteo contra heladas

season-reason = Tal como está se rompe en { $bare } de 10 inviernos, con { $measure } en { $with }: { $yearly } al año están en juego además de lo que ahorran las llamadas, y { $cost } evitan { $benefit } en { $years } años, { $ratio } por cada dólar.

season-warming-too-short = Estación { $station }: { $winters } inviernos completos son muy pocos para preguntar si cambian (hacen falta { $least }).
season-warming-none = Estación { $station }: ninguna tendencia que este registro pueda mostrar (p { $p }, { $winters } inviernos). Los inviernos bajo { $threshold } vienen { $still } de cada 10.
season-warming-trend = Estación { $station }: los inviernos bajo { $threshold } han pasado de { $before } de cada 10 ({ $first }) a { $after } de cada 10 ({ $last }), p { $p }. El ahorro se cuenta para los años que vienen; como si nada cambiara serían { $still } de cada 10.

season-letter-subject = Una oferta para proteger su conjunto de prevención de reflujo de las heladas
season-letter-greeting = Estimado/a { $name }:
season-letter-greeting-nobody = Estimado cliente:
season-letter-body = El conjunto de prevención de reflujo en { $address } ({ $what }) está donde una helada puede romperlo. Antes de la temporada fría le ofrecemos { $measure }. { $does }
season-letter-answer = Si lo desea, llame al { $phone } y dé el número { $id }. Los lugares son limitados; si no sabemos de usted, la oferta pasa al siguiente. Si no lo quiere, díganoslo también: no volveremos a preguntar.
season-letter-answer-nophone = Si lo desea, conteste a esta carta y dé el número { $id }. Los lugares son limitados; si no sabemos de usted, la oferta pasa al siguiente. Si no lo quiere, díganoslo también: no volveremos a preguntar.
season-letter-end = Hasta que esté instalado, y en una helada fuerte aun con ello, siga el pronóstico y nuestros mensajes. Nunca tape, selle ni puentee un orificio de alivio, nunca descongele con una llama y nunca cierre una línea contra incendios. El trabajo en el conjunto es para personas con licencia, y después se prueba donde las reglas lo piden.

season-does-wrap = Una envoltura frena el frío y no da calor: sirve en una noche de helada, no en días de helada fuerte. Los orificios de alivio y los drenajes quedan abiertos.
season-does-thick_wrap = Una envoltura gruesa frena el frío y no da calor: sirve en noches largas de helada, no en una semana de helada fuerte. Los orificios de alivio y los drenajes quedan abiertos.
season-does-heat_trace = Un cable certificado lo calienta en noches frías, bajo una envoltura, en un circuito protegido que debe quedar encendido; lo instala un electricista.
season-does-cover = Una cubierta lo guarda del viento y del cielo. Queda abierta al aire y se levanta para la prueba.
season-does-heated_enclosure = Un gabinete con calefacción lo mantiene sobre el punto de congelación mientras tenga corriente; lo conecta un electricista.
season-does-relocation = Un plomero con licencia lo traslada a un cuarto con calefacción y con un drenaje que recibe lo que su alivio puede soltar.
season-does-drain_kit = Con accesorios para vaciarlo y un recordatorio cada otoño queda vacío en invierno, cuando nadie necesita su agua.
season-does-freeze_drip_valve = Una válvula deja correr un poco de agua cuando se acerca a la congelación. Debe poder gotear; déjela cuando lo haga.

season-yearly = { $assemblies } conjuntos: se espera que las heladas cuesten { $gross } al año tal como están, { $net } de ello además de lo que ahorran las llamadas en una ola de frío.
season-interval = Solo por los inviernos del registro, 9 de 10: la elección evita de { $low } a { $high }, la pérdida es de { $yearly_low } a { $yearly_high } al año ({ $draws } sorteos de inviernos enteros).
season-no-interval = Un solo invierno no tiene intervalo: no se puede decir cuánto depende de él.
season-as-recorded = El registro muestra una tendencia, así que el ahorro se cuenta para los años que vienen: { $moved }; como fueron los inviernos, la misma elección evitaría { $recorded }.
season-so-far = De ofertas anteriores { $fitted } están instaladas y cuentan como tales; { $committed } están comprometidos por las aceptadas.
season-fire = { $lines } líneas alimentan protección contra incendios o podrían hacerlo: para ellas no se ofrece vaciar, gotear ni trasladar.

season-desk-summary = Se gastan { $spent } de { $budget } en { $chosen } de { $all } conjuntos; se espera evitar { $benefit }. El próximo dólar ahorra { $shadow }, los próximos { $next } ahorrarían { $more }.
season-desk-best = Ninguna elección ahorra más.
season-desk-bound = Ninguna elección puede ahorrar más de { $bound }.
season-desk-shown = Las primeras { $shown } de { $all } ofertas.
