# Lo que dice la respuesta sobre expansión.

## El suministro y el porqué

expansion-well-tank-takes = el tanque de presión del pozo está antes de la casa, así que el agua calentada regresa a él
expansion-well-tank-too-small = el tanque de presión del pozo recibe solo { $usable } bajo el límite y el calentamiento trae { $demand }: se toma como cerrado
expansion-storage-at-relief = a { $hot } de almacenamiento abre el alivio del calentador ({ $relief }): es un peligro antes que un asunto de expansión
expansion-no-regulator = nada regula la calle: la casa queda a { $street } cuando no se usa agua, más que el límite de { $limit }
expansion-regulator-does-not-hold = la reductora no mantiene su ajuste, así que la presión de la calle pasa a la casa
expansion-regulator-closes = la reductora cierra la tubería, así que lleva también un tanque
expansion-tank-is-marginal = { $tanks ->
        [one] el tanque termina { $over } sobre el límite (le faltan { $short }), menos que lo seguro de las lecturas ({ $unsure }, { $unsure_water } de agua): lea otra vez la estática y la precarga antes de cambiarlo
       *[other] los tanques terminan { $over } sobre el límite (les faltan { $short }), menos que lo seguro de las lecturas ({ $unsure }, { $unsure_water } de agua): lea otra vez la estática y las precargas antes de cambiarlos
    }

## Qué hacer

expansion-nothing = No hace falta nada más.
expansion-precharge = { $tanks ->
        [one] { $precharge } (puesta con el tanque aislado y vacío)
       *[other] { $precharge } (puesta con cada tanque aislado y vacío)
    }
expansion-precharge-at = { $tanks ->
        [one] { $precharge } a { $at } (puesta con el tanque aislado y vacío; donde está el tanque la cifra es otra)
       *[other] { $precharge } a { $at } (puesta con cada tanque aislado y vacío; donde están los tanques la cifra es otra)
    }
expansion-step-shut-energy-off = Corte ya la energía del calentador, aléjese de su tubo de alivio y llame a un plomero con licencia; lo demás viene después
expansion-step-fit-regulator = Ponga una válvula reductora de presión ajustada a { $setting }
expansion-step-set-regulator = Ajuste la reductora de presión a { $setting }
expansion-step-mend-regulator = Repare o cambie la reductora de presión y ajústela a { $setting }
expansion-step-set-well-switch = Ajuste el interruptor del pozo para que pare la bomba a { $setting }
expansion-step-fit-tank = Ponga un tanque de expansión de al menos { $volume }, precarga { $precharge }
expansion-step-replace-tank = Cambie el tanque que ya está por uno de al menos { $volume }, precarga { $precharge }
expansion-step-set-precharge = Conserve el tanque que ya está y ponga su precarga a { $precharge }
expansion-step-fit-relief = Ponga una válvula de alivio de expansión ajustada entre { $low } y { $high }, con desagüe por un espacio de aire [UPC 608.2; IPC 504.6]
expansion-step-make-room = Haga espacio para un tanque de { $volume }, o para dos que lo repartan
expansion-step-look-at-limit = Pida que revisen el límite de presión: no deja espacio sobre un suministro que sirva
expansion-kept-tank = Conserve el tanque que ya está; no hace falta nada más.
expansion-kept-tank-marginal = Conserve el tanque que ya está, y lea otra vez la estática y la precarga: está justo.
expansion-kept-relief = Un alivio de expansión a { $setting } basta; una vez puesto no hace falta nada más.

## Qué lectura decidió

expansion-from-static = leída en la casa
expansion-from-street = la calle, sin reductora
expansion-from-regulator-setting = el ajuste de la reductora
expansion-from-street-through-regulator = la calle, a través de una reductora que no retiene
expansion-from-well-cut-out = el paro del pozo
expansion-from-limit = el dicho o el usual
expansion-from-rating = la presión nominal más baja
expansion-from-heater-relief = un décimo bajo el alivio del calentador

## La página de texto

expansion-label-do = Hacer
expansion-label-why = Por qué
expansion-label-closed = Cerrada
expansion-label-then = Después
expansion-label-found = Como está
expansion-label-tank-there = { $tanks ->
        [one] Su tanque
       *[other] Sus tanques
    }
expansion-label-measure = Medir
expansion-label-mind = Cuidado
expansion-closed-yes = sí
expansion-closed-no = no
expansion-closed-unclear = no se sabe
expansion-then-tank = estática { $static }, tanque { $volume } a { $precharge }: al calentar termina en { $end } (límite { $limit })
expansion-one-tank = { $volume } a { $precharge }
expansion-then-tanks = estática { $static }, tanques { $tanks }: al calentar termina en { $end } (límite { $limit })
expansion-then-tanks-unbounded = estática { $static }, tanques { $tanks }: nada limita la presión (límite { $limit })
expansion-then-tank-unbounded = estática { $static }, tanque { $volume } a { $precharge }: nada limita la presión (límite { $limit })
expansion-then-relief = estática { $static }; el alivio mantiene { $end } (límite { $limit })
expansion-then-nothing = la casa queda a { $static } (límite { $limit })
expansion-then-undone = la casa está a { $static } (límite { $limit })
expansion-found = estática { $static } ({ $static_from }), límite { $limit } ({ $limit_from })
expansion-found-bare = ; calentada sin nada que reciba el agua: { $end }
expansion-found-lifts = abre el alivio del calentador ({ $relief })
expansion-found-passes = a lo más { $end }
expansion-verdict-enough = { $tanks ->
        [one] basta: termina en { $end }, { $margin } debajo del límite (seguro a { $unsure }, { $unsure_water }); recibe hasta { $takes }, el calentamiento trae { $brings }
       *[other] bastan: juntos terminan en { $end }, { $margin } debajo del límite (seguro a { $unsure }, { $unsure_water }); reciben hasta { $takes }, el calentamiento trae { $brings }
    }
expansion-verdict-marginal = { $tanks ->
        [one] justo: termina en { $end }, { $margin } sobre el límite (seguro a { $unsure }, { $unsure_water }); recibe hasta { $takes }, el calentamiento trae { $brings }
       *[other] justos: juntos terminan en { $end }, { $margin } sobre el límite (seguro a { $unsure }, { $unsure_water }); reciben hasta { $takes }, el calentamiento trae { $brings }
    }
expansion-verdict-not-enough = { $tanks ->
        [one] no basta: termina en { $end }, { $margin } sobre el límite (seguro a { $unsure }, { $unsure_water }); recibe hasta { $takes }, el calentamiento trae { $brings }
       *[other] no bastan: juntos terminan en { $end }, { $margin } sobre el límite (seguro a { $unsure }, { $unsure_water }); reciben hasta { $takes }, el calentamiento trae { $brings }
    }
expansion-verdict-unbounded = { $tanks ->
        [one] no basta: nada limita la presión
       *[other] no bastan: nada limita la presión
    }
expansion-verdict-failed = { $tanks ->
        [one] falló: agua en su válvula de aire, o sin precarga
       *[other] fallaron todos: agua en la válvula de aire, o sin precarga
    }
expansion-explain = --explain cuenta el resto: alternativas, cuidados, todas las razones.
expansion-mind = El alivio del calentador nunca es el control: nunca lo tape ni lo selle [IPC 504.4; IPC 504.6]. Las enmiendas locales van primero (* se cita de memoria); deciden el código local, el fabricante y un plomero con licencia.

## Lecturas que hay que revisar: qué está mal, qué se espera, qué hacer

expansion-slip-regulator-state-what = no se conoce este estado de una reductora
expansion-slip-regulator-state-expected = uno de { $names }
expansion-slip-regulator-state-remedy = Observe un manómetro después de ella una noche sin usar agua.
expansion-slip-missing-cut-out-what = falta una lectura necesaria
expansion-slip-missing-cut-out-expected = la presión a la que el interruptor para la bomba del pozo, como "60 psi"
expansion-slip-missing-cut-out-remedy = Léala en la etiqueta del interruptor o en el manómetro cuando la bomba para.
expansion-slip-static-limit-swapped-what = el límite ({ $limit }) está por debajo de la presión estática ({ $static })
expansion-slip-static-limit-swapped-expected = un límite mayor que la estática
expansion-slip-static-limit-swapped-remedy = Si están cambiados, cámbielos; la respuesta los toma como están.
expansion-slip-hot-unbelieved-what = { $hot } es menos que cualquier almacenamiento usual ({ $other })
expansion-slip-hot-unbelieved-expected = 100 °F (38 °C) o más donde se guarda el agua
expansion-slip-hot-unbelieved-remedy = Si se leyó en la otra escala, escriba la unidad; si es así, acéptela como fuera de lo usual.
expansion-slip-rise-unbelieved-what = ningún calentador se ajusta para calentar el suministro más frío solo { $rise }
expansion-slip-rise-unbelieved-expected = un aumento de 20 °F (11 K) o más del suministro más frío al almacenamiento más caliente
expansion-slip-rise-unbelieved-remedy = Lea ambas otra vez con su unidad; si es así, acéptela como fuera de lo usual.
expansion-slip-beyond-what = está más allá de lo posible
expansion-slip-beyond-expected = de { $low } a { $high }
expansion-slip-beyond-remedy = Léala otra vez con su unidad.
expansion-slip-unusual-what = está más allá de lo usual
expansion-slip-unusual-expected = de { $low } a { $high }
expansion-slip-unusual-remedy = Léala otra vez con su unidad; si es así, acéptela como fuera de lo usual.

expansion-from-list = el menor de la lista que sirve: { $name } ({ $volume }, recibe { $takes })
expansion-from-list-several = los menos de la lista que bastan, lado a lado, cada uno con esa precarga: { $name } ({ $volume } juntos)

## Las lecturas: sus nombres y lo que dice un formulario junto a ellas

expansion-reading-heater = Volumen del calentador
    .help = Como 50 gal; varios con punto y coma, cada uno con su temperatura como 50 gal @ 140 F.
expansion-reading-cold = Suministro más frío del año
    .help = Como 45 F.
expansion-reading-hot = Almacenamiento más caliente
    .help = Termostato y lo que se pasa, como 140 F.
expansion-reading-static = Presión estática más alta
    .help = Manómetro con aguja de máxima durante un día, como 60 psi.
expansion-reading-limit = Límite de presión
    .help = 80 psi o 550 kPa si se deja vacío [UPC 608.2; IPC 604.8*]; decide su código.
expansion-reading-closed-by = Qué hay entre la calle y el calentador
expansion-reading-street = Presión más alta de la calle
expansion-reading-street-day = Presión de la calle de día
expansion-reading-street-night = Presión de la calle de noche
expansion-reading-regulator-setting = Ajuste de la reductora
expansion-reading-regulator = La reductora en una noche
    .help = retiene, sube o abierta.
expansion-reading-well-cut-out = La bomba del pozo para a
expansion-reading-well-cut-in = La bomba del pozo arranca a
expansion-reading-well-tank = Volumen del tanque de presión del pozo
expansion-reading-existing-tank = Volumen del tanque que ya está
    .help = Varios con punto y coma; sus otras lecturas en el mismo orden.
expansion-reading-precharge = Su precarga
    .help = Leída en la válvula de aire con el tanque aislado y vacío; la palabra agua si salió agua.
expansion-reading-max-acceptance = Lo más que puede aceptar
expansion-reading-tank-rating = Su presión de trabajo más alta
expansion-reading-water-at-air-valve = Salió agua por su válvula de aire
expansion-reading-room-for-tank = El mayor tanque que cabe
    .help = 0 si ninguno.
expansion-reading-tank-height = Tanque sobre el manómetro
    .help = Debajo, negativo.
expansion-reading-tank-temperature = Temperatura donde está el tanque
expansion-reading-precharge-temperature = Temperatura a la que se puso su precarga
expansion-reading-kind = Tipo de calentador
    .help = almacenamiento, de paso, bomba de calor, solar o calefacción; de almacenamiento si se deja vacío.
expansion-reading-hygiene = Temperatura más alta de un ciclo de higiene
expansion-reading-stagnation = Temperatura más alta de un tanque solar sin uso
expansion-reading-stacking = Lo que suman los usos cortos a la más caliente
    .help = Como 10 F.
expansion-reading-mixing-valve = Hay una válvula mezcladora a la salida
expansion-reading-recirculation = El agua caliente recircula
expansion-reading-pipe = Tubería caliente
    .help = Como copper-L 3/4 in 60 ft.
expansion-reading-cold-pipe = Tubería fría detrás del dispositivo
expansion-reading-material-credit = Descontar el crecimiento del metal
expansion-reading-elevation = Altura sobre el nivel del mar
    .help = Como 600 ft; nivel del mar si se deja vacío.
expansion-reading-heat-input = Potencia del calentador
    .help = Como 40000 Btu/h o 4.5 kW.
expansion-reading-efficiency = Parte de ella que llega al agua
expansion-reading-daily-draw = Agua caliente usada al día
expansion-reading-trapped-air = Aire atrapado en la tubería
expansion-reading-relief-at = Alivio que abre a
expansion-reading-relief-cap = Ajuste de alivio más alto de su código [UPC 608.2]
expansion-reading-heater-relief = Ajuste de presión del alivio del calentador
expansion-reading-heater-relief-temperature = Ajuste de temperatura de esa válvula
expansion-reading-rating = Presión nominal más baja de una pieza
expansion-reading-rigid = Tomar calentador y tubos como rígidos
expansion-reading-accept-unusual = Aceptar lecturas poco comunes como están
expansion-step-take-out-tank = { $count ->
        [one] Quite el tanque que falló; los demás bastan
       *[other] Quite los { $count } tanques que fallaron; los demás bastan
    }
expansion-from-tank-rating = la presión nominal más baja de un tanque que ya está
expansion-tank-number = tanque { $number } ({ $volume })
expansion-add-beside = { $tanks ->
        [one] en lugar de cambiarlo basta también uno de al menos { $volume } junto a los que sirven, con cada precarga a { $precharge }
       *[other] en lugar de cambiarlos basta también uno de al menos { $volume } junto a los que sirven, con cada precarga a { $precharge }
    }
expansion-caution-local-first = Las enmiendas locales van primero: pregunte a la autoridad qué se adoptó. Las secciones nombradas son de los códigos modelo (UPC 2015 a 2024, IPC 2018 a 2021); las que llevan asterisco se citan de memoria.
expansion-caution-closed = Una retención, un conjunto o una reductora sin paso de retorno cierra la tubería, y los calentadores con tanque necesitan entonces control de la expansión.
expansion-caution-solar = Un tanque solar se sobrecalienta cuando nadie saca agua: la respuesta se calcula con el corte de su control. Haga revisar ese corte; debe quedar por debajo de la temperatura de la válvula de alivio. El circuito del colector, con su propio tanque y alivio, es de calefacción y no se calcula aquí.
expansion-caution-heat-pump = El tanque de una bomba de calor se calienta a veces por encima de su perilla con su resistencia o un ciclo de higiene: diga esa temperatura, o la respuesta queda corta.
expansion-caution-instantaneous = Un calentador sin tanque también empuja agua a una tubería cerrada desde su serpentín y los tubos calientes; la regla pide control de la expansión sea cual sea el calentador.
expansion-caution-sized-on-hygiene = Calculado con el ciclo de higiene a { $hot }, no con el almacenamiento diario.
expansion-caution-sized-on-stagnation = Calculado con el tanque sin uso a { $hot }, no con el almacenamiento diario.
expansion-caution-mixing-valve = Las retenciones en las entradas de la mezcladora están detrás del calentador: el tanque va en la línea fría antes del ramal a la válvula, nunca en el lado mezclado. La expansión cuenta la temperatura del tanque, no la de la llave.
expansion-caution-recirculation = La retención del retorno hace girar el circuito en un sentido y por sí sola no aísla el calentador; los tubos del circuito cuentan como tubo caliente. Donde el retorno entra a una mezcladora, revise que ambas retenciones dejen al calentador un camino al tanque.
expansion-slip-unknown-kind-what = no se conoce este tipo de calentador
expansion-slip-unknown-kind-expected = uno de { $names }
expansion-slip-unknown-kind-remedy = Lea su placa; un tanque con quemador o resistencia es de almacenamiento.
expansion-slip-missing-stagnation-what = falta una lectura necesaria
expansion-slip-missing-stagnation-expected = la temperatura más alta del tanque solar cuando no se usa agua, como "180 F"
expansion-slip-missing-stagnation-remedy = Lea el corte de su control: calculado con el almacenamiento diario, el tanque quedaría muy corto.
expansion-slip-not-as-many-what = esto no se dijo ni una vez para todos los tanques ni una para cada uno
expansion-slip-not-as-many-expected = uno, o { $names }: tantos como tanques, en su orden
expansion-slip-not-as-many-remedy = Póngalos en el orden de los tanques.
expansion-slip-which-tank-what = hay varios tanques, y no se dijo en cuál válvula de aire salió agua
expansion-slip-which-tank-expected = la palabra agua en lugar de la precarga de ese tanque
expansion-slip-which-tank-remedy = Escriba las precargas en el orden de los tanques.
expansion-slip-hydronic-what = un circuito cerrado de calefacción no se calcula aquí: su tanque sale de la presión de llenado, la bomba y un alivio de unos 30 psi (207 kPa) según códigos de calderas, con una mezcla que no es agua sola
expansion-slip-hydronic-expected = un calentador de agua potable
expansion-slip-hydronic-remedy = Que lo calcule quien tenga licencia para calderas; el calentador de agua potable de al lado sí se calcula aquí.
expansion-slip-hygiene-below-what = el ciclo de higiene ({ $other }) está por debajo del almacenamiento más caliente ({ $hot })
expansion-slip-hygiene-below-expected = un ciclo de higiene más caliente que el almacenamiento diario
expansion-slip-hygiene-below-remedy = Lea ambos otra vez; cuenta el más caliente.

## El registro

expansion-householder-tank = { $tanks ->
        [one] Para quien vive aquí: el agua caliente crece y un dispositivo no la deja regresar a la calle, así que la recibe el tanque; haga revisar su aire cada año y llame a un plomero si gotea el tubo de alivio del calentador.
       *[other] Para quien vive aquí: el agua caliente crece y un dispositivo no la deja regresar a la calle, así que la reciben los tanques; haga revisar su aire cada año y llame a un plomero si gotea el tubo de alivio del calentador.
    }
expansion-householder-relief = Para quien vive aquí: el agua caliente crece y un dispositivo no la deja regresar a la calle, así que una válvula pequeña suelta un poco mientras calienta; es su trabajo: nunca la tape, y llame a un plomero si no para.
expansion-householder-supply = Para quien vive aquí: la presión de la calle es demasiada para esta casa; una válvula reductora la mantiene baja.
expansion-householder-none = Para quien vive aquí: el agua caliente puede regresar por donde vino, así que no hay que poner nada; pregunte otra vez si alguien pone una válvula, un filtro o un conjunto en la línea.
expansion-householder-danger = Para quien vive aquí: esta agua está peligrosamente caliente; aléjese del calentador y de su tubo de alivio hasta que lo vea un plomero con licencia.
expansion-record-formula = Cálculo: aumento V (v₂/v₁ − 1) con el agua según IAPWS-IF97; tanque aumento / (1 − P₁/P₂), absolutas, aire { $air } kPa (ASHRAE, sistemas hidrónicos); sin descontar el metal. Reglas como estén vigentes en el lugar: UPC 608, IPC 504, 604, 607.
expansion-record-formula-less-metal = Cálculo: aumento V (v₂/v₁ − 1) menos 3α ΔT del metal, agua según IAPWS-IF97; tanque aumento / (1 − P₁/P₂), absolutas, aire { $air } kPa (ASHRAE, sistemas hidrónicos). Reglas como estén vigentes en el lugar: UPC 608, IPC 504, 604, 607.
expansion-record-mind = El alivio del calentador es de seguridad, nunca el control: nunca lo tape, lo selle, lo cierre ni cambie su ajuste [IPC 504.4; IPC 504.6]. El agua caliente quema, a los niños antes: válvula mezcladora listada si se guarda a más de 120 °F (49 °C) [ASSE 1017*; IPC 412.5]; no baje la temperatura contra la expansión.
expansion-check-static = Estática con aguja de máxima, 24 horas
expansion-check-traced = Seguida del medidor al calentador; retención preguntada
expansion-check-storage = Temperatura medida en la llave cercana, no en la perilla
expansion-check-regulator = Reductora a { $setting }; estática leída otra noche
expansion-check-precharge = { $tanks ->
        [one] Precarga { $precharge }, aislado y vacío; con fecha
       *[other] Precarga { $precharge } en cada uno, aislado y vacío; fecha
    }
expansion-check-tank = { $tanks ->
        [one] Tanque tras la retención, con soporte; válvula abierta
       *[other] Tanques tras la retención, con soporte; válvulas abiertas
    }
expansion-check-heater-relief = Alivio del calentador y su tubo: puestos, libres, a la vista
expansion-check-heat = Prueba de calentamiento: presión final anotada
expansion-check-tank-there = { $tanks ->
        [one] Tanque que ya está: válvula seca, arriba suena hueco
       *[other] Tanques que ya están: válvula seca, arriba suenan huecos
    }

## Desde el manómetro

expansion-label-read = Leído
expansion-label-water = Agua
expansion-label-after = Luego
expansion-gauge-closed = sí: la presión subió al calentar y se quedó en la casa
expansion-gauge-open = no, hasta donde dice un manómetro: una tubería cerrada habría subido, y esta no
expansion-gauge-unsettled = no se sabe: la subida cabe en el error del manómetro
expansion-gauge-rise = { $before } en reposo, { $after } caliente: subió { $rise }, seguro a { $error }
expansion-gauge-expected = cerrada y sin nada que reciba el agua habría subido { $bare }
expansion-gauge-expected-tank = { $tanks ->
        [one] cerrada habría subido { $tank } con el tanque como se dijo, { $bare } sin nada
       *[other] cerrada habría subido { $tank } con los tanques como se dijeron, { $bare } sin nada
    }
expansion-gauge-no-bound = más de lo que lee un manómetro
expansion-gauge-taken = el calentamiento trajo { $gain }; algo que no es tubo ni calentador recibió { $taken }, seguro a { $error }
expansion-gauge-give = todo lo que cede: { $give } por { $span } de subida, seguro a { $error }; de eso tubo y calentador según cálculo { $walls }
expansion-gauge-untold = recibió agua algo que no se dijo: aire, una manguera, tubo de plástico o un tanque
expansion-gauge-tank-as-charged = { $tanks ->
        [one] recibe lo que debe
       *[other] reciben lo que deben
    }
expansion-gauge-tank-lost = { $tanks ->
        [one] recibe menos de lo que debe: perdió carga, o está cerrado en parte del lado del agua
       *[other] reciben menos de lo que deben: uno perdió carga, o está cerrado en parte el lado del agua
    }
expansion-gauge-tank-high = { $tanks ->
        [one] recibe menos de lo que debe, y solo al final: su carga pasa de la estática
       *[other] reciben menos de lo que deben, y solo al final: su carga pasa de la estática
    }
expansion-gauge-tank-nothing = { $tanks ->
        [one] no recibe nada: lleno de agua, sin diafragma o con su válvula cerrada
       *[other] no reciben nada: llenos de agua, sin diafragma o con una válvula cerrada
    }
expansion-gauge-tank-more = { $tanks ->
        [one] recibe más de lo que puede un tanque de ese volumen: busque aire, una manguera, otro tanque u otro volumen
       *[other] reciben más de lo que pueden tanques de esos volúmenes: busque aire, una manguera, otro tanque u otros volúmenes
    }
expansion-gauge-tank-unsettled = { $tanks ->
        [one] las lecturas no dicen cómo está cargado
       *[other] las lecturas no dicen cómo están cargados
    }
expansion-gauge-charge = una precarga entre { $low } y { $high } explica las lecturas
expansion-gauge-charge-high = también una entre { $low } y { $high }
expansion-gauge-stands = quieto, se mantiene: no baja más de { $error } por hora
expansion-gauge-falls = quieto, baja { $fall } por hora más de lo que explica el enfriamiento (seguro a { $error }): unos { $loss } por hora se van a alguna parte
expansion-gauge-falls-or-cools = quieto, baja { $fall } por hora (seguro a { $error }); no se leyó el agua, así que puede ser solo enfriamiento
expansion-gauge-next-heat = caliente { $rise } o más con todas las llaves cerradas: entonces este manómetro lo dice
expansion-gauge-next-precharge = { $tanks ->
        [one] lea la precarga en la válvula de aire con el tanque aislado y vaciado a cero
       *[other] lea la precarga de cada uno en su válvula de aire con el tanque aislado y vaciado a cero
    }
expansion-gauge-next-tank = { $tanks ->
        [one] vea si la válvula del tanque está abierta, si arriba suena hueco y si sale agua por su válvula de aire
       *[other] vea en cada tanque si su válvula está abierta, si arriba suena hueco y si sale agua por su válvula de aire
    }
expansion-gauge-next-trace = siga la línea del medidor al calentador: un manómetro no distingue un tubo abierto de un tanque o aire que nadie conoce
expansion-gauge-next-stand = lea otra vez tras una hora quieto, cada vez con la temperatura del agua guardada
expansion-gauge-next-loss = busque lo que corre: un tubo de alivio, un inodoro, una llave que gotea, una retención que deja regresar
expansion-gauge-mind = Aléjese del tubo de alivio, pare el calentamiento a 150 psi (1000 kPa) o si corre un alivio, abra una llave antes de quitar el manómetro. Deciden el código local y un plomero con licencia.
expansion-step-replace-tanks = Cambie los tanques que ya están por uno de al menos { $volume }, precarga { $precharge }
expansion-step-set-precharges = Conserve los tanques que ya están y ponga la precarga de cada uno a { $precharge }
expansion-kept-tanks = Conserve los tanques que ya están; no hace falta nada más.
expansion-kept-tanks-marginal = Conserve los tanques que ya están, y lea otra vez la estática y las precargas: están justos.
expansion-recirculation-aside = la retención de la línea de recirculación o mezcla está al lado de la línea revisada
expansion-label-together = Juntas
expansion-gauge-agree = las { $count } lecturas caben en una misma casa: su desajuste es { $misfit } de los errores dichos, donde lo usual es 1
expansion-gauge-disagree = las { $count } lecturas no caben en una misma casa: su desajuste es { $misfit } de los errores dichos, donde lo usual es 1; se abrió una llave, cambió el suministro, o el manómetro y el agua son menos seguros de lo dicho
expansion-gauge-between = { $low } a { $high }
expansion-gauge-next-again = tome las lecturas otra vez con todas las llaves cerradas todo el tiempo, mirando el suministro, y leyendo manómetro y agua en el mismo minuto
expansion-precharge-meant-at = { $precharge } (a { $at })
expansion-caution-precharge-at = Ponga la precarga con el tanque aislado y vaciado a cero, en la cifra dicha para { $at }: en servicio el tanque está a { $stands }, donde su gas marca otra. Revísela cada año.
expansion-measure = { $how }: se dijo { $told }; con { $turns } o { $way ->
        [more] más
       *[less] menos
    } la respuesta es: { $becomes }
expansion-measure-static = la estática, con un manómetro con aguja de máxima un día y una noche
expansion-measure-cold = el suministro en el mes más frío, en una llave fría abierta hasta que se estabilice
expansion-measure-hot = el agua guardada, en la llave caliente más cercana justo cuando para el quemador
expansion-measure-heater = el volumen del calentador, en su placa
expansion-measure-street = la presión más alta de la calle, de la empresa de agua o con aguja de máxima antes de la reductora
expansion-measure-precharge = la precarga, con el tanque aislado y vacío
expansion-measure-existing-tank = el volumen del tanque, en su etiqueta

## Los tanques que ya están, uno o varios

expansion-tank-there-label = { $tanks ->
        [one] Tanque que ya está
       *[other] Tanques que ya están
    }
expansion-the-tank-there = { $tanks ->
        [one] El tanque que ya está
       *[other] Los tanques que ya están
    }
expansion-over-acceptance = { $tanks ->
        [one] tendría que recibir { $would } y puede recibir { $may } (su aceptación máxima)
       *[other] tendrían que recibir { $would } y pueden recibir { $may } (sus aceptaciones máximas)
    }
expansion-can-take-more = { $tanks ->
        [one] puede recibir { $usable } más antes de { $limit }; el calentamiento trae { $demand }
       *[other] juntos pueden recibir { $usable } más antes de { $limit }; el calentamiento trae { $demand }
    }
expansion-unbounded = { $tanks ->
        [one] una vez lleno, nada limita la presión: abriría la válvula de alivio del calentador
       *[other] una vez llenos, nada limita la presión: abriría la válvula de alivio del calentador
    }
expansion-enough-when-set = { $tanks ->
        [one] con su precarga puesta a { $precharge } (tanque aislado y vacío) basta
       *[other] con cada precarga puesta a { $precharge } (tanque aislado y vacío) bastan
    }
expansion-tank-is-enough = { $tanks ->
        [one] el tanque puede recibir { $usable } antes de { $limit }, y el calentamiento trae { $demand }
       *[other] los tanques pueden recibir { $usable } antes de { $limit }, y el calentamiento trae { $demand }
    }
expansion-tank-enough-once-set = { $tanks ->
        [one] el tanque alcanza cuando su precarga se pone a { $static }; como está no alcanza
       *[other] los tanques alcanzan cuando cada precarga se pone a { $static }; como están no alcanzan
    }
expansion-tank-marginal-once-set = { $tanks ->
        [one] con su precarga a { $static } el tanque termina { $over } sobre el límite, menos que lo seguro de las lecturas ({ $unsure }): lea otra vez la estática antes de cambiarlo
       *[other] con cada precarga a { $static } los tanques terminan { $over } sobre el límite, menos que lo seguro de las lecturas ({ $unsure }): lea otra vez la estática antes de cambiarlos
    }
expansion-tank-there-fails = { $tanks ->
        [one] el tanque que ya está no mantiene el límite, y ajustar su precarga no bastaría
       *[other] los tanques que ya están no mantienen el límite, y ajustar sus precargas no bastaría
    }
expansion-tank-there-enough-after = { $tanks ->
        [one] con la reductora a { $setting } y la precarga igual, basta el tanque que ya está
       *[other] con la reductora a { $setting } y cada precarga igual, bastan los tanques que ya están
    }
expansion-diaphragm-failed = agua en la válvula de aire: el diafragma falló, así que el tanque no recibe nada
expansion-precharge-lost = no queda precarga: el tanque perdió su aire o falló su diafragma; fíjese si sale agua por la válvula de aire
expansion-under-charged = precarga baja: { $precharge } contra { $static } de estática; en reposo ya hay en él { $at_rest } de agua ({ $share } del tanque)
expansion-over-charged = precarga alta: { $precharge } contra { $static } de estática; no entra agua antes de que la presión suba hasta la precarga
expansion-precharge-above-limit = la precarga está en el límite de { $limit } o más arriba: el tanque no recibe nada antes de pasar el límite
expansion-chart-there = { $tanks ->
        [one] como está, tanque que hay ({ $volume }): a { $end }
       *[other] como está, { $tanks } tanques ({ $volume }): a { $end }
    }
expansion-chart-advised = { $tanks ->
        [one] lo aconsejado, tanque de { $volume }: a { $end }
       *[other] lo aconsejado, { $tanks } tanques de { $volume }: a { $end }
    }

## Un tanque nuevo

expansion-label-bare = Sin nada
expansion-label-tank = Tanque
expansion-label-relief = Alivio
expansion-tank-too-high = el tanque estaría tan alto que el suministro no llega a él
expansion-no-room-for-tank = ningún tanque basta: la presión estática de { $static } está en el límite de { $limit } o más arriba, así que no queda espacio entre ellas; primero hay que bajar la presión del suministro
expansion-tank-takes-up = un tanque de al menos { $volume } recibe el agua: el { $share } se llena entre { $static } y { $limit }
expansion-saves-water = para no perder agua, un tanque de al menos { $volume } recibe el agua: el { $share } se llena entre { $static } y { $limit }
expansion-no-tank-holds = con esta presión estática ningún tanque mantiene el límite
expansion-would-lift = la presión llegaría a { $reaches }: abriría la válvula de alivio del calentador ({ $relief })
expansion-ends-below = la presión termina en { $ends }, { $by } debajo del límite
expansion-ends-above = la presión termina en { $ends }, { $by } arriba del límite
expansion-needed-in-total = harían falta { $volume } en total con la precarga a { $precharge }
expansion-too-large-for-room = hace falta un tanque de { $needed } y hay espacio para { $room }
expansion-no-relief-make-room = tampoco hay alivio que mantenga el límite, así que hay que hacer espacio para el tanque o repartirlo en dos
expansion-tank-there-has-failed = { $tanks ->
        [one] el tanque que ya está falló: agua en su válvula de aire, o sin precarga
       *[other] los tanques que ya están fallaron: agua en las válvulas de aire, o sin precarga
    }
expansion-measure-hygiene = lo más caliente que lo pone su resistencia o un ciclo de higiene (--hygiene): calculado con el almacenamiento diario, el tanque puede quedar chico

## Las gráficas

expansion-chart-bare = como está, sin nada: a lo más { $end }
expansion-chart-bare-unbounded = como está, sin nada
expansion-chart-relieved = con un alivio ajustado a { $setting }
expansion-chart-sizes = Tamaño del tanque según la presión del suministro
expansion-chart-sizes-description = El tanque más pequeño para { $volume } de expansión y un límite de { $limit } crece sin fin cuando la presión del suministro se acerca al límite.
expansion-chart-sizes-axis = tanque más pequeño en total, { $unit }; precarga igual a la presión del suministro
expansion-chart-supply-axis = presión del suministro, { $unit } de manómetro
expansion-chart-now = ahora
expansion-chart-regulated = con reductora
expansion-chart-size-at = { $name }: { $volume } a { $pressure }
expansion-chart-no-tank-beyond = límite { $limit }: desde aquí ningún tanque
