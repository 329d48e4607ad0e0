"""What is planned and judged, as frozen records in millimetres: part, shop, scene, assembly."""
