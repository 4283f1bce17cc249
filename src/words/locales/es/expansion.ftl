# Lo que dice la respuesta sobre expansión.

## El suministro y el porqué

expansion-well-tank-takes = el tanque de presión del pozo está antes de la casa, así que el agua calentada regresa a él
expansion-well-tank-too-small = el tanque de presión del pozo recibe solo { $usable } bajo el límite y el calentamiento trae { $demand }: se toma como cerrado
expansion-storage-at-relief = a { $hot } de almacenamiento abre el alivio del calentador ({ $relief }): es un peligro antes que un asunto de expansión
expansion-no-regulator = nada regula la calle: la casa queda a { $street } cuando no se usa agua, más que el límite de { $limit }
expansion-regulator-does-not-hold = la reductora no mantiene su ajuste, así que la presión de la calle pasa a la casa
expansion-regulator-closes = la reductora cierra la tubería, así que lleva también un tanque
expansion-tank-is-marginal = el tanque termina { $over } sobre el límite (le faltan { $short }), menos que lo seguro de las lecturas ({ $unsure }): lea otra vez la estática y la precarga antes de cambiarlo

## Qué hacer

expansion-nothing = No hace falta nada más.
expansion-precharge = { $precharge } (puesta con el tanque aislado y vacío)
expansion-precharge-at = { $precharge } a { $at } (puesta con el tanque aislado y vacío; donde está el tanque la cifra es otra)
expansion-step-shut-energy-off = Corte ya la energía del calentador, aléjese de su tubo de alivio y llame a un plomero con licencia; lo demás viene después
expansion-step-fit-regulator = Ponga una válvula reductora de presión ajustada a { $setting }
expansion-step-set-regulator = Ajuste la reductora de presión a { $setting }
expansion-step-mend-regulator = Repare o cambie la reductora de presión y ajústela a { $setting }
expansion-step-set-well-switch = Ajuste el interruptor del pozo para que pare la bomba a { $setting }
expansion-step-fit-tank = Ponga un tanque de expansión de al menos { $volume }, precarga { $precharge }
expansion-step-replace-tank = Cambie el tanque que ya está por uno de al menos { $volume }, precarga { $precharge }
expansion-step-set-precharge = Conserve el tanque que ya está y ponga su precarga a { $precharge }
expansion-step-fit-relief = Ponga una válvula de alivio de expansión ajustada entre { $low } y { $high }, con desagüe por un espacio de aire
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
expansion-label-tank-there = Su tanque
expansion-label-measure = Medir
expansion-label-mind = Cuidado
expansion-closed-yes = sí
expansion-closed-no = no
expansion-closed-unclear = no se sabe
expansion-then-tank = estática { $static }, tanque { $volume } a { $precharge }: al calentar termina en { $end } (límite { $limit })
expansion-then-tank-unbounded = estática { $static }, tanque { $volume } a { $precharge }: nada limita la presión (límite { $limit })
expansion-then-relief = estática { $static }; el alivio mantiene { $end } (límite { $limit })
expansion-then-nothing = la casa queda a { $static } (límite { $limit })
expansion-then-undone = la casa está a { $static } (límite { $limit })
expansion-found = estática { $static } ({ $static_from }), límite { $limit } ({ $limit_from })
expansion-found-bare = ; calentada sin nada que reciba el agua: { $end }
expansion-found-lifts = abre el alivio del calentador ({ $relief })
expansion-found-passes = a lo más { $end }
expansion-verdict-enough = basta: termina en { $end }, { $margin } bajo el límite
expansion-verdict-marginal = justo: termina en { $end }, { $margin } sobre el límite, seguro a { $unsure }
expansion-verdict-not-enough = no basta: termina en { $end }, { $margin } sobre el límite
expansion-verdict-unbounded = no basta: nada limita la presión
expansion-verdict-failed = falló: agua en su válvula de aire, o sin precarga
expansion-explain = --explain cuenta el resto: alternativas, cuidados, todas las razones.
expansion-mind = El alivio del calentador nunca es el control: nunca lo tape ni lo selle. Deciden el código local, el fabricante y un plomero con licencia.

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
