"""Problems for a class: what is given, the steps to the answer, the parts that are asked, and seeded variants."""
