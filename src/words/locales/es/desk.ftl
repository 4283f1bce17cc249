# The desk's pages.

log-unread = Ahora no se puede usar el registro de contactos: no se sabe a quién se llamó, quién espera llamada ni qué se dijo. Pregunte antes de llamar a alguien otra vez, anote en papel y avise a quien cuida este sistema.
log-unread-by-plan = El plan se hizo sin el registro de contactos, que no se pudo leer: puede incluir a personas a las que ya se llamó. Haga el plan otra vez cuando el registro se pueda leer.
log-bad-rows = { $count ->
    [one] Un renglón del registro no se puede leer y se dejó fuera: pregunte a quien lo anotó y vuelva a escribirlo.
   *[other] { $count } renglones del registro no se pueden leer y se dejaron fuera: pregunte a quien los anotó y vuelva a escribirlos.
}
log-away = { $count ->
    [0] No se alcanza el servidor del registro. Aquí se puede seguir: las notas quedan en esta computadora y se entregan cuando vuelva. Lo que anoten otros puestos mientras tanto no se ve aquí, así que pregunte antes de llamar.
    [one] No se alcanza el servidor del registro. Aquí se puede seguir: una nota queda en esta computadora y se entrega cuando vuelva. Lo que anoten otros puestos mientras tanto no se ve aquí, así que pregunte antes de llamar.
   *[other] No se alcanza el servidor del registro. Aquí se puede seguir: { $count } notas quedan en esta computadora y se entregan cuando vuelva. Lo que anoten otros puestos mientras tanto no se ve aquí, así que pregunte antes de llamar.
}
log-refused = { $count ->
    [one] El servidor del registro no recibió una nota, que queda en esta computadora. Avise a quien cuida este sistema.
   *[other] El servidor del registro no recibió algunas de { $count } notas, que quedan en esta computadora. Avise a quien cuida este sistema.
}
log-clock = El reloj de esta computadora está mal. Las notas llevan la hora del servidor; las horas en estas páginas pueden estar mal. Avise a quien cuida este sistema.
plan-counts = { $at_risk } de { $all } conjuntos están en riesgo. { $tiers }
plan-unranked = { $count ->
    [one] Una fila no se puede clasificar y tiene a quién avisar: llame también.
   *[other] { $count } filas no se pueden clasificar y tienen a quién avisar: llame también.
}
plan-breaks = Se espera que fallen si nadie actúa: { $expected } ({ $low } a { $high } con el error del tiempo, { $low_local } a { $high_local } sin él{ $judged }).
judged-band = de { $low } a { $high } con otro juicio de lo que nadie ha medido
desk-changed = Desde que miró por última vez ({ $since }): { $new } nuevos por llamar primero, { $gone } menos.
desk-why-tonight = { $fell ->
    [fell] La mínima de esta noche bajó de { $from } a { $to }.
   *[rose] La mínima de esta noche subió de { $from } a { $to }.
}
desk-why-night = { $fell ->
    [fell] La mínima de la noche del { $night } bajó de { $from } a { $to }.
   *[rose] La mínima de la noche del { $night } subió de { $from } a { $to }.
}
desk-why-forecast = Se renovó el pronóstico; ninguna mínima cambió tanto como un grado.
desk-why-list = Cambió la lista de conjuntos.
desk-why-config = Cambió la configuración.
desk-why-time = Lo leído es lo mismo: pasaron horas, o ahora cuentan llamadas y avisos anotados.
desk-crossed = El plan se renovó mientras su página estaba abierta. No se perdió nada de lo que envió; lo que ve ahora es del plan más nuevo.
desk-left-list = Este conjunto salió de la lista mientras su página estaba abierta. Lo que escribió sigue aquí: guárdelo como registro de la llamada.
desk-claimed = { $by } está llamando desde { $at }.
desk-board-renews = Este tablero se actualiza solo cada { $seconds } segundos o antes.
desk-board-said = { $open } por llamar, { $overdue } atrasadas, { $tried } anotadas. Próximo plazo: { $deadline }.
desk-board-beyond = { $count ->
    [one] Sigue una llamada más.
   *[other] Siguen { $count } llamadas más.
}
desk-watch-told = La vigilancia avisó el { $at }: { $told }
desk-watch-no-plan = No se pudo hacer ningún plan. Su registro dice por qué. Mientras tanto vale la última lista.
desk-watch-refused = El plan más nuevo de la vigilancia ({ $name }) no se puede usar. Sigue en uso el del { $at }, de hace { $hours } horas:
desk-watch-refused-first = El plan más nuevo de la vigilancia ({ $name }) no se puede usar, y no hay uno anterior:
desk-watch-none = La vigilancia no guarda ningún plan que se pueda usar, así que aquí aún no hay pronóstico.
desk-watch-stopped = La vigilancia no ha hecho ningún plan que se pueda usar desde el { $at }, hace { $hours } horas: avise a quien la cuida. Lo que estas páginas prevén se apoya en ese pronóstico.
desk-watch-ahead = Los archivos del pronóstico cambiaron después del plan de la vigilancia del { $at }; estas páginas usan los archivos más nuevos.
