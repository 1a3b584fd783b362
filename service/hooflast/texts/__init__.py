"""texts"""
