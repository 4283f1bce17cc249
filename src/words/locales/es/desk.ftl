# The desk's pages.

log-unread = Ahora no se puede usar el registro de contactos: no se sabe a quién se llamó, quién espera llamada ni qué se dijo. Pregunte antes de llamar a alguien otra vez, anote en papel y avise a quien cuida este sistema.
log-unread-by-plan = El plan se hizo sin el registro de contactos, que no se pudo leer: puede incluir a personas a las que ya se llamó. Haga el plan otra vez cuando el registro se pueda leer.
log-bad-rows = { $count ->
    [one] Un renglón del registro no se puede leer y se dejó fuera: pregunte a quien lo anotó y vuelva a escribirlo.
   *[other] { $count } renglones del registro no se pueden leer y se dejaron fuera: pregunte a quien los anotó y vuelva a escribirlos.
}
