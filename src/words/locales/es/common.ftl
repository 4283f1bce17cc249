# Palabras comunes a todas las páginas e impresos.

planning-aid = Ayuda para planificar, no una orden: deciden el código local, las instrucciones del fabricante y las personas con licencia o certificación.
