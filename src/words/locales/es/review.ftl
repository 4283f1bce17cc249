# El repaso tras una ola de frío: primero los recuentos, luego las cifras, y lo que no se dice y por qué.

review-title = ¿Sirvió la lista?
review-counts = Se rompieron { $damaged } de { $looked } revisados. Otros { $reported } se notificaron sin revisarse; { $unknown } no se revisaron; { $cannot } se revisaron sin respuesta clara; { $exposed } no tenían agua.
review-nothing = Nadie ha revisado todavía ningún conjunto, así que no se puede decir nada.
review-spell-name = la ola de frío del { $from } al { $to }
review-spell = { $spell }: se rompieron { $damaged } de { $looked } revisados; según el plan se esperaban { $expected } (de { $low } a { $high }, con el error del pronóstico).
review-spell-hindcast = Con las horas que llegaron, según lo que se hizo, se esperaban { $expected } (de { $low } a { $high }).
review-one-spell = Una sola noche fría no puede decir si falló el pronóstico o fallaron las tuberías.
review-town = Según cómo se eligió qué revisar, en la ciudad se rompieron unos { $value }{ $error }.
review-town-error = { " " }(± { $error }, un error estándar)
review-set-as-issued = Tal como se emitió
review-set-hindcast = Con las horas que llegaron, sin contar lo que se hizo
review-set-hindcast-as-done = Con las horas que llegaron, según lo que se hizo
review-set = { $name }: se rompieron { $damaged } y se esperaban { $expected }; observado entre esperado { $ratio } (de { $low } a { $high }).
review-scores = Brier { $brier } (de { $brier_low } a { $brier_high }), puntuación logarítmica { $log } (de { $log_low } a { $log_high }), el roto tenía la probabilidad mayor { $auc } ± { $auc_se }; descalibración { $mcb } (p simulada { $p }), discriminación { $dsc }, incertidumbre { $unc }.
review-caught = En el primer { $share } % de { $rule }: { $breaks } % de las roturas, { $loss } % de la pérdida.
review-calls = { $contact }: se rompieron { $damaged } de { $looked } revisados (de { $low } a { $high } %).
review-proposal = Propuesta para la configuración, que adopta una persona: nucleación media { $mean } (± { $sd }, 90 % de { $low } a { $high }), en lugar de { $was }; de { $records } registros, { $damaged } con daño, en { $spells ->
    [one] una ola
   *[other] { $spells } olas
}, con un efecto de la ola de { $effect } integrado. Nada cambia por sí solo.
review-strength = Factor de resistencia { $factor } (90 % de { $low } a { $high }), en lugar de { $was }: las olas de frío que se dejan fuera por turno se explican mejor con él (puntuación logarítmica { $with } frente a { $without }).
review-strength-too-few = El factor de resistencia queda como está: solo { $spells } olas de frío, con { $each } dañados y { $each } enteros revisados, podrían decir algo de él.
review-strength-not-simulated = El factor de resistencia queda como está: para decir algo de él hay que calcular de nuevo el modelo de helada con las horas que vinieron (--assemblies, --series).
review-strength-open = El factor de resistencia queda como está: estos registros dejan abierto el { $left } % de lo que no se sabía de él.
review-strength-holds = El factor de resistencia queda como está: se halla dentro de lo que estos registros dicen de él (90 % de { $low } a { $high }).
review-strength-edge = El factor de resistencia queda como está: los registros lo llevan más allá del borde de lo probado.
review-strength-no-gain = El factor de resistencia queda como está: las olas de frío que se dejan fuera por turno no se explican mejor con otro (puntuación logarítmica { $with } frente a { $without }).
review-tiers = Con las horas de { $spell } la lista tendría { $new_first } por llamar primero, { $new_next } por llamar después y { $new_message } para un mensaje, en lugar de { $first }, { $next } y { $message }.
review-stand-in = Calculada solo con las probabilidades mediante una curva sustituta (a juicio), sin volver a ejecutar el modelo.
review-simulated-in-part = Calculada volviendo a ejecutar el modelo con las horas ocurridas; para conjuntos con una medida distinta de un forro, mediante una curva sustituta (a juicio).
review-refused = Lo que no se dice, y por qué
review-refused-nothing-looked-at = No se revisó nada, así que no hay puntuaciones ni recalibración.
review-refused-too-few = Se revisaron { $damaged } con daño y { $whole } sin daño; con menos de { $least } de cada uno solo hay recuentos: ni puntuaciones, ni diagrama, ni recalibración.
review-refused-no-hindcast = De { $rows } revisados no se conoce la probabilidad con las horas que llegaron: se juzgan solo tal como se emitió.
review-refused-no-protected = De { $rows } protegidos no se conoce la probabilidad con la medida puesta: quedan fuera donde cuenta lo que se hizo.
review-refused-not-by-design = { $rows } se revisaron porque hubo tiempo o una queja, no por diseño: se cuentan pero no se puntúan.
review-refused-not-told-how = { $rows } filas no dicen cómo se revisaron (how_found, inclusion_probability): las revisadas pueden ser las de quejas, así que no se compara ningún total de la ciudad.
review-refused-few-spells = Los registros vienen de { $spells ->
    [one] una ola
   *[other] { $spells } olas
}: los intervalos salen de los conjuntos y dicen poco del tiempo. Un pronóstico tiene tantas pruebas independientes como olas.
review-refused-reports = { $rows } notificados se cuentan pero no se puntúan: quien se queja no es una muestra.
review-refused-only-damaged = Solo se revisaron conjuntos con daño. Sin los que quedaron enteros, una recalibración erraría por varios grados y parecería segura.
review-refused-edge = Los registros llevan la nucleación más allá de lo probado: falla otra cosa.
review-refused-no-gain = Dejando fuera cada ola por turno, el valor nuevo no es mejor (puntuación logarítmica { $new } frente a { $old }): queda el anterior.
review-refused-no-ranks = No se conocen los puestos en la lista, así que no se puede decir qué habría cubierto.
review-refused-no-loss = No se conoce la pérdida de algunos rotos, así que no se dice la parte de la pérdida.
review-page-mean-p = Probabilidad, de y a
review-page-n = Revisados
review-page-found = Rotos
review-page-expected = Rotos si las probabilidades son ciertas, 90 de 100
review-page-share = Parte que se rompió, intervalo del 95 %
