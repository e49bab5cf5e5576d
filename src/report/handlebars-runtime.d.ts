/** Handlebars without its compiler, whose types do not say what it exports. */
declare module 'handlebars/runtime.js' {
  import Handlebars from 'handlebars'
  export default Handlebars
}
