"""The records that flow from step to step: frozen, checked, without logic of their own."""
