"""The demo shop: invented recordings and notes, with what they say written down beside them."""
