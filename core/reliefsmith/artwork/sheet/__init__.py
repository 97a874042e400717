"""sheet"""
