import { mount } from "svelte";
import App from "./App.svelte";
import "./styles/tokens.css";
import "./styles/base.css";
import "./styles/tables.css";

const target = document.getElementById("page");
if (target !== null) mount(App, { target });
