# Palabras comunes a todas las páginas e impresos.

planning-aid = Una ayuda para planificar, no una instrucción: deciden las normas locales, las instrucciones del fabricante del dispositivo y las personas con licencia o certificación.
