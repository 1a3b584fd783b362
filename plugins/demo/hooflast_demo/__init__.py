"""The demo catalog: six invented makers, their boots and their accessories, in dated editions.

Nothing in it is for sale; no maker, boot model or size code belongs to a real product.
"""
