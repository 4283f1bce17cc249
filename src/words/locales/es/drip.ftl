# Lo que la mesa telefónica dice y hace ante un goteo. Lo que se dice tiene su parte propia y un cierre con quién y cuándo;
# juntos no pasan de 50 palabras, 20 segundos a 150 palabras por minuto.

drip-ask = Pregunte: { $question }

## Quién y cuándo, al cierre de lo que se dice

drip-by-plumber = Debe verlo un plomero con licencia { $when }.
drip-by-tester = Debe verlo un probador certificado { $when }.
drip-by-either = Debe verlo un probador certificado o plomero con licencia { $when }.
drip-by-plumber-and-tester = Deben verlo un plomero con licencia y un probador certificado { $when }.
drip-by-plumber-then-tester = Debe verlo un plomero con licencia { $when }, y un probador certificado antes de usarlo otra vez.
drip-by-caller = Revise usted otra vez en 24 horas y llámenos si corre más, más tibia o más tiempo.
drip-by-unless-known = Si no lo sabe, debe verlo un probador certificado o plomero con licencia { $when }.
drip-by-crew = Debe verlo nuestra cuadrilla { $when }.
drip-by-crew-sent = Pido nuestra cuadrilla ahora; manténgase lejos del agua.
drip-by-desk = Nuestra mesa de turno lo revisa { $when }.
drip-by-supervisor = Voy a llamar a mi supervisor ahora.
drip-by-supervisor-and-crew = Voy a llamar a mi supervisor y a nuestra cuadrilla ahora; manténgase lejos del agua.

## Lo que se dice de cada resultado

drip-say-emergency = Aléjese ahora, con todos. Llame al { $number } desde un lugar seguro. Voy a llamar a mi supervisor.
drip-say-gas = Salga del edificio ahora, con todos, y no encienda ni apague nada. Llame al { $number } desde afuera. Voy a llamar a mi supervisor.
drip-gas-out = Que todos salgan del edificio enseguida, a pie, y se mantengan lejos; dejen las puertas abiertas al salir.
drip-gas-not = No encienda ni apague nada, ni una lámpara ni el calentador; no use teléfono ni timbre adentro; no arranque un carro al lado.
drip-gas-who = los servicios de emergencia y la compañía de gas, y el supervisor de turno de la empresa de agua
drip-gas-who-plumber = los servicios de emergencia y la compañía de gas, y el supervisor de turno de la empresa de agua; un plomero con licencia para el calentador
drip-say-odd-water = Por favor, deje de usar el agua ahora. Le comunico con nuestro responsable de calidad del agua.
drip-say-capped = Ese alivio siempre debe poder abrir, o el tanque puede reventar. Si no hace ruido, apague el calentador en su propio control, aleje a todos y llame ahora a un plomero con licencia. Si echa vapor o retumba, llame al { $number }.
drip-say-fire = Por favor, deje abiertas todas las válvulas. Llame ahora a su contratista contra incendios y a la línea de no emergencia de los bomberos; yo aviso a mi supervisor.
drip-say-gushing = Es mucha agua. Si la línea no alimenta protección contra incendios y llega sin peligro a la válvula anterior, ciérrela con suavidad; quedará sin agua.
drip-say-gushing-critical = Es mucha agua. Por favor deje las válvulas como están.
drip-say-freeze-damage = Es probable que la helada haya roto una pieza. Si la línea no alimenta protección contra incendios y llega sin peligro a la válvula anterior, ciérrela con suavidad; quedará sin agua.
drip-say-freeze-damage-critical = Es probable que la helada haya roto una pieza. Por favor deje las válvulas como están hasta que le llamemos.
drip-say-freezing = Es probable que se esté congelando ahora. Abra la llave más cercana después del hielo, caliente solo con aire tibio y ubique su válvula antes del deshielo.
drip-say-working-freeze-drip = Así puede funcionar: con el frío la válvula deja correr un poco de agua para que el tubo no se congele.
drip-say-working-relief-port = Así puede funcionar: la válvula suelta un poco cuando baja la presión de la calle.
drip-say-working-expansion-relief = Así puede funcionar: suelta un poco de agua fría mientras el calentador trabaja.
drip-say-working-canopy = Así puede funcionar: echa agua mientras se llena y debe cerrar en un minuto.
drip-say-working-test-cock = Así puede ser justo después de una prueba; debe secarse en una hora.
drip-say-working = Así puede funcionar.
drip-say-expansion = La presión puede subir cuando el agua se calienta, porque su tubería está cerrada. Un plomero puede medirla y darle espacio al agua.
drip-say-fault-heater = La válvula de seguridad del calentador no debe seguir goteando. No acerque las manos y llame de inmediato si sale caliente.
drip-say-fault-expansion-relief = Un alivio que sigue corriendo indica presión alta, un tanque dañado o suciedad en la válvula.
drip-say-fault-freeze-drip = Esa válvula corre cuando no debe, o más de lo que debe. Deje abierto el suministro mientras se espere helada.
drip-say-fault-covered = Esa abertura debe quedar libre. Quite una cubierta suelta si no hay peligro; deje lo que esté fijo.
drip-say-fault = Lo que suelta es señal de que toca servicio. Mantenga libre la abertura, por favor.
drip-say-warm = Por ahí no debe salir agua tibia: regresó del calentador. No acerque las manos.
drip-say-leak = Eso parece una fuga. Si la línea no alimenta protección contra incendios, puede cerrar con suavidad la válvula anterior; quedará sin agua.
drip-say-leak-critical = Eso parece una fuga. Por favor deje las válvulas como están.
drip-say-unknown = Con eso no puedo saberlo.

## Cerrar una válvula, heladas

drip-costs-water = Dígalo antes de hacerlo: con esa válvula cerrada, todo lo que está detrás queda sin agua.
drip-tap-house = Abra la llave de agua fría más cercana a lo congelado, del lado opuesto a la calle, para que lo que se derrita tenga salida.
drip-tap-irrigation = Abra una salida de la línea de riego después de lo congelado, para que lo que se derrita tenga salida.
drip-ask-fire = Primero pregunte: ¿esta línea alimenta rociadores o hidrantes contra incendios? Si es así o hay duda, deje todas las válvulas abiertas y transfiera la llamada.

## Mucha agua

drip-gushing-crew = Pida ahora la cuadrilla de la empresa de agua para detener el agua en el servicio; siga en la línea hasta que vaya en camino.
drip-gushing-who = la cuadrilla de la empresa de agua ahora; luego { $who }
drip-gushing-who-critical = el supervisor de turno y la cuadrilla de la empresa de agua ahora; luego { $who }

## Un alivio de calentador que no puede abrir

drip-capped-away = Saque a todos del cuarto del calentador y que nadie entre: un tanque que no puede soltar presión puede reventar.
drip-capped-energy = Solo si no hace ruido ni echa vapor: apague el calentador en su propio control (el control de gas en apagado, o su interruptor) y salga también.
drip-capped-call = Si echa vapor, retumba, silba o huele a gas: déjelo, salga y llame al { $number }.
drip-capped-plumber = Que venga ahora un plomero con licencia a liberar el alivio antes de volver a usar el calentador.
drip-capped-not = No toque, abra ni quite lo que cierra el alivio; no vuelva a calentar hasta que el plomero lo libere. No use agua caliente.
drip-capped-who = un plomero con licencia y el supervisor de turno de la empresa de agua, ahora; los servicios de emergencia si hay calor, vapor o ruido
drip-capped-hand = Transfiera la llamada ahora.

## Agua tibia del lado frío

drip-warm-who = un plomero con licencia para el lado del calentador; un probador certificado si son las retenciones del conjunto
drip-warm-now = No acerque las manos al agua; puede salir caliente sin aviso.

## Ya se deshieló de mala manera

drip-flame-stop = Deje de calentar. Busque humo, olor a quemado o pared caliente alrededor del tubo; si hay algo, salgan todos y llamen al { $number }.
drip-flame-watch = Que alguien se quede vigilando el lugar; lo que arde despacio dentro de una pared se nota tarde.
drip-flame-not = No vuelva a usar llama abierta ni agua caliente.
drip-flame-who = un plomero con licencia, y un probador certificado antes de usarlo; primero los bomberos si hay humo o quemaduras
drip-flame-hand = Transfiera de inmediato si hay humo, olor a quemado o un tubo de gas al lado.
drip-flame-say = Por favor, deje de calentar ahora. Busque humo o una pared quemada; si hay, salga y llame al { $number }.
drip-hot-water-stop = Deje de echar agua, y cuidado con el hielo donde corrió.
drip-hot-water-look = Busque goteos en uniones, tapas y válvulas de prueba, ahora y cuando suba la temperatura: el calor puede partir lo que la helada dejó sano.
drip-hot-water-not = No vuelva a echarle agua caliente ni agua hirviendo.
drip-hot-water-say = Por favor, deje de echar agua caliente: puede partir una pieza fría. Busque goteos en cada unión, ahora y al deshelarse.
drip-thawed-not-used = No lo vuelva a usar hasta que esté sano y lo haya probado un probador certificado.
drip-thawed-who = un plomero con licencia para buscar roturas, y luego un probador certificado antes de usarlo

## No sale nada de agua

drip-no-water-ask = Pregunte: ¿los vecinos tampoco tienen agua?, ¿hay alguien trabajando en la calle?
drip-no-water-file = Busque trabajos en la tubería, cortes y servicios cerrados en esa dirección.
drip-no-water-valve = Pregunte si alguien cerró una válvula en la casa, en el conjunto o en el medidor.
drip-no-water-taps = Que cierren las llaves abiertas, para que nada se inunde cuando vuelva el agua.
drip-no-water-fire = Si de esta línea dependen rociadores, tampoco tienen agua: transfiera.
drip-no-water-not = No mande a un plomero antes de que la empresa de agua revise el lado de la calle.
drip-no-water-who = primero la mesa de turno de la empresa de agua; un plomero con licencia si en la calle hay agua
drip-no-water-hand = Transfiera ahora si alguien necesita el agua por salud, o si llaman varios de la misma calle.
drip-no-water-say = ¿Sus vecinos tampoco tienen agua? Por favor cierre las llaves abiertas, para que nada se inunde cuando vuelva.

## No se sabe de quién es el agua

drip-owner-take = Anote la dirección más cercana, cuánta agua y desde cuándo, y pida la cuadrilla de la empresa de agua: es su tubería hasta que se demuestre otra cosa.
drip-owner-clear = Que no se acerquen personas ni autos; con helada avise del hielo.
drip-owner-meter = Pregunte si el medidor se mueve con todas las llaves cerradas, para que lo sepa la cuadrilla.
drip-owner-not = Que nadie más que la cuadrilla toque una válvula en la calle: no lo permita.
drip-owner-who = primero la cuadrilla de la empresa de agua; un plomero con licencia cuando se vea que el agua es del cliente
drip-owner-hand = Transfiera ahora si arrastra tierra, llega a un edificio o se congela en una calle.
drip-owner-say = La tomamos por nuestra hasta que se demuestre otra cosa. Por favor, que no se acerquen personas ni autos.

## Ya le puso una bolsa

drip-wrapped-ask = Pregunte: ¿qué grueso tiene, está seca y protege del viento hasta el suelo, y están libres la abertura de abajo y su desagüe?
drip-wrapped-cold = Pregunte cuánto frío se espera y por cuánto tiempo. Con el conjunto buscado, responden el pronóstico y el modelo.
drip-wrapped-free = Se ponga lo que se ponga, la abertura del alivio y su desagüe quedan libres.
drip-wrapped-who = usted, con esta única pregunta; un plomero con licencia si quien llama no sabe
drip-wrapped-hand = Transfiera si alimenta protección contra incendios o si alguien necesita el agua por salud.
drip-wrapped-say = Un forro da horas, no da calor. ¿Qué grueso tiene, llega hasta el suelo y está libre la abertura de abajo?

## Prueba vencida

drip-tag-file = Mire la fecha de la última prueba en archivo: la etiqueta puede ser más vieja que el último informe.
drip-tag-list = Dé la lista de probadores certificados de la empresa de agua; el probador manda el informe.
drip-tag-also = La etiqueta también está vencida: la misma visita puede servir para la prueba.
drip-tag-not = No deje que lo pruebe ni firme la etiqueta nadie más que un probador certificado.
drip-tag-who = un probador certificado que elija quien llama, de la lista de la empresa de agua
drip-tag-hand = Transfiera si sale agua, o si alimenta protección contra incendios.
drip-tag-say = Ya toca la prueba. Por favor elija un probador certificado de nuestra lista; él nos manda el informe.
