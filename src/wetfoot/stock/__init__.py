"""How much clean seed there is and will be."""
