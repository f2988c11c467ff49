"""A fault is drawn and hidden, readings are given as a meter would, the plan is followed: how often is it right?"""
