"""The compiled step. Where it cannot be built, the package works without it, on the slower reference."""

from setuptools import Extension, setup

setup(
    ext_modules=[
        Extension(
            "inshell.network._kernel",
            ["src/inshell/network/_kernel.c"],
            depends=["src/inshell/network/_step.h"],
            extra_compile_args=["-O3", "-std=gnu11", "-fno-math-errno", "-fno-trapping-math", "-Wno-psabi"],
            libraries=["m"],
            py_limited_api=True,
            optional=True,
        )
    ]
)
