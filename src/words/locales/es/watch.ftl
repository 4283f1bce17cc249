# Lo que dice la vigilancia permanente.

watch-reminder = Sigue así:
watch-first-night = { $sites ->
    [one] Viene una ola de frío: { $sites } sitio para llamar primero. Puede formarse hielo desde { $ice }; temperatura mínima del aire { $lowest }.
   *[other] Viene una ola de frío: { $sites } sitios para llamar primero. Puede formarse hielo desde { $ice }; temperatura mínima del aire { $lowest }.
}
watch-more-to-call = La ola de frío ha crecido: { $sites } sitios para llamar primero, { $new } de ellos nuevos. Puede formarse hielo desde { $ice }; temperatura mínima del aire { $lowest }.
watch-stale = El pronóstico es viejo: obtenga uno más reciente antes de llamar a nadie. Hasta entonces vale la última lista.
watch-no-plan = No se pudo hacer un plan: { $why }. Hasta que se pueda, vale la última lista.
watch-thaw = Ya no queda nadie para llamar primero. Inspeccione y vuelva a probar lo que estuvo en riesgo antes de confiar en ello.
watch-subject-first-night = { $sites ->
    [one] Ola de frío: { $sites } sitio para llamar primero
   *[other] Ola de frío: { $sites } sitios para llamar primero
}
watch-subject-more-to-call = La ola de frío ha crecido: { $sites } sitios para llamar primero
watch-subject-stale = El pronóstico es viejo
watch-subject-no-plan = No se pudo hacer un plan
watch-subject-thaw = Ya no queda nadie para llamar primero
watch-letter-foot = Decidido { $time }, aviso número { $id }; un mensaje con el mismo número y hora es el mismo aviso. Se calcula a partir de un pronóstico y puede estar equivocado. El código local y las personas con licencia o certificación van primero.
